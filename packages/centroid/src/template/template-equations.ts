/** Sums over pixels that the fit of a template needs: what it minimizes, its gradient and its curvature. */

import type { PixelList } from '../pixels/valid-pixels.ts';
import type { TemplateModel } from './template-model.ts';
import { sumSecondDerivatives } from './template-table.ts';

/** Unknowns of the fit; x and y in image coordinates. */
export interface TemplateUnknowns {
  x: number;
  y: number;
  flux: number;
  background: number;
  parameter: number;
}

/** Places of the unknowns in gradients and matrices, free or not. Matrices are lower triangles, row-major. */
export const unknown = { x: 0, y: 1, flux: 2, background: 3, parameter: 4 } as const;
export const unknownCount = 5;

/**
 * Least expected count of a pixel: this share of what an empty one has, and so many electrons where that is
 * nothing. A template made of noisy images is negative here and there, and a count near 0 would weigh more
 * than all others.
 */
const leastEmptyShare = 0.1;
const leastExpected = 1e-9;

export class TemplateEquations {
  readonly gradient = new Float64Array(unknownCount);
  /** sum(weight dm/da dm/db) */
  readonly products = new Float64Array(unknownCount * unknownCount);
  readonly #model: TemplateModel;
  readonly #list: PixelList;
  readonly #weighByNoise: boolean;
  readonly #weight: Float64Array;
  readonly #pull: Float64Array;

  /** @param weighByNoise  weigh by the inverse of the variance expected, or all pixels alike */
  constructor(model: TemplateModel, list: PixelList, weighByNoise: boolean) {
    this.#model = model;
    this.#list = list;
    this.#weighByNoise = weighByNoise;
    const capacity = list.value.length;
    this.#weight = new Float64Array(capacity);
    this.#pull = new Float64Array(capacity);
  }

  /** Where the background ends: expected counts are not negative. */
  leastBackground(): number {
    if (!this.#weighByNoise) return -Infinity;
    const { count, emptyVariance } = this.#list;
    let least = Infinity;
    for (let k = 0; k < count; k++) if (emptyVariance[k] < least) least = emptyVariance[k];
    return -least;
  }

  /** Draw the star at these unknowns. */
  draw({ x, y, parameter }: TemplateUnknowns): void {
    this.#model.fill(this.#list, x, y, parameter);
  }

  /** Weights and pulls of the pixels for the star as drawn; returns the sum of squares by these weights. */
  weigh({ flux, background }: TemplateUnknowns): number {
    const { count, value, variance, emptyVariance } = this.#list;
    const star = this.#model.values.value;
    const weight = this.#weight;
    const pull = this.#pull;
    let squares = 0;
    if (this.#weighByNoise)
      for (let k = 0; k < count; k++) {
        const empty = emptyVariance[k];
        const least = Math.max(leastExpected, leastEmptyShare * empty);
        const expected = Math.max(least, flux * star[k] + background + empty);
        const w = 1 / expected;
        const r = variance[k] - expected;
        weight[k] = w;
        pull[k] = r * w;
        squares += r * r * w;
      }
    else
      for (let k = 0; k < count; k++) {
        const r = value[k] - flux * star[k] - background;
        weight[k] = 1;
        pull[k] = r;
        squares += r * r;
      }
    return squares;
  }

  /**
   * Weights whose products are the curvature of the likelihood: d/dmu of (d - mu) / mu is -d / mu^2, not -1 /
   * mu.
   */
  useCurvatureWeights(): void {
    if (!this.#weighByNoise) return;
    const { count, variance } = this.#list;
    const weight = this.#weight;
    for (let k = 0; k < count; k++) weight[k] = weight[k] * weight[k] * variance[k];
  }

  /** The measured variance of each pixel as its weight: products are then those of the gradient's noise. */
  useVarianceWeights(): void {
    this.#weight.set(this.#list.variance.subarray(0, this.#list.count));
  }

  /** The sum of squares of the star as drawn, by the weights of the last `weigh`. */
  sumSquares({ flux, background }: TemplateUnknowns): number {
    const { count, value, variance, emptyVariance } = this.#list;
    const star = this.#model.values.value;
    const weight = this.#weight;
    let squares = 0;
    if (this.#weighByNoise)
      for (let k = 0; k < count; k++) {
        const empty = emptyVariance[k];
        const least = Math.max(leastExpected, leastEmptyShare * empty);
        const r = variance[k] - Math.max(least, flux * star[k] + background + empty);
        squares += r * r * weight[k];
      }
    else
      for (let k = 0; k < count; k++) {
        const r = value[k] - flux * star[k] - background;
        squares += r * r;
      }
    return squares;
  }

  /** Fill `gradient`, of half the sum of squares downhill, and `products`. */
  sum({ flux }: TemplateUnknowns): void {
    const { count } = this.#list;
    const { value, byX, byY } = this.#model.values;
    const { isFamily, byParameter } = this.#model;
    const weight = this.#weight;
    const pull = this.#pull;
    let gx = 0;
    let gy = 0;
    let gf = 0;
    let gb = 0;
    let gp = 0;
    let xx = 0;
    let xy = 0;
    let yy = 0;
    let xf = 0;
    let yf = 0;
    let ff = 0;
    let xb = 0;
    let yb = 0;
    let fb = 0;
    let bb = 0;
    let xp = 0;
    let yp = 0;
    let fp = 0;
    let bp = 0;
    let pp = 0;
    for (let k = 0; k < count; k++) {
      const w = weight[k];
      const r = pull[k];
      const t = value[k];
      gb += r;
      bb += w;
      if (t === 0) continue;
      const x = byX[k];
      const y = byY[k];
      const wx = w * x;
      const wy = w * y;
      const wt = w * t;
      gx += r * x;
      gy += r * y;
      gf += r * t;
      xx += wx * x;
      xy += wx * y;
      yy += wy * y;
      xf += wx * t;
      yf += wy * t;
      ff += wt * t;
      xb += wx;
      yb += wy;
      fb += wt;
      if (!isFamily) continue;
      const p = byParameter[k];
      const wp = w * p;
      gp += r * p;
      xp += wx * p;
      yp += wy * p;
      fp += wt * p;
      bp += wp;
      pp += wp * p;
    }
    const f2 = flux * flux;
    const g = this.gradient;
    g[0] = flux * gx;
    g[1] = flux * gy;
    g[2] = gf;
    g[3] = gb;
    g[4] = flux * gp;
    const m = this.products;
    m[0] = f2 * xx;
    m[5] = f2 * xy;
    m[6] = f2 * yy;
    m[10] = flux * xf;
    m[11] = flux * yf;
    m[12] = ff;
    m[15] = flux * xb;
    m[16] = flux * yb;
    m[17] = fb;
    m[18] = bb;
    m[20] = f2 * xp;
    m[21] = f2 * yp;
    m[22] = flux * fp;
    m[23] = flux * bp;
    m[24] = f2 * pp;
  }

  /**
   * Add to `products` what the residuals add to the Hessian of x, y and flux, after `sum`: it matters in much
   * noise, and when the star is not quite the template.
   */
  addCurvature({ x, y, flux, parameter }: TemplateUnknowns): void {
    const table = this.#model.nearest(parameter);
    const second = sumSecondDerivatives(this.#list, table, x, y, this.#pull);
    const { gradient: g, products: m } = this;
    m[0] -= flux * second.xx;
    m[5] -= flux * second.xy;
    m[6] -= flux * second.yy;
    m[10] -= g[0] / flux;
    m[11] -= g[1] / flux;
  }

  /**
   * Fill `gradient` with what an electron more in every pixel adds to it, by the weights of the last `weigh`.
   */
  sumCommon({ flux }: TemplateUnknowns): void {
    const { value, byX, byY } = this.#model.values;
    const { isFamily, byParameter } = this.#model;
    const weight = this.#weight;
    const g = this.gradient.fill(0);
    for (let k = 0; k < this.#list.count; k++) {
      const w = weight[k];
      g[0] += w * flux * byX[k];
      g[1] += w * flux * byY[k];
      g[2] += w * value[k];
      g[3] += w;
      if (isFamily) g[4] += w * flux * byParameter[k];
    }
  }

  /** Share of the template's light on the pixels in use, as drawn. */
  lightShare(parameter: number): number {
    const { value } = this.#model.values;
    let light = 0;
    for (let k = 0; k < this.#list.count; k++) light += value[k];
    return light / this.#model.nearest(parameter).light;
  }
}
