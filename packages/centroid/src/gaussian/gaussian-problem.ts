/**
 * The Gaussian fit as a problem for the minimizer: which of the model's seven unknowns are free, in
 * star-centered coordinates, and the covariance at the end.
 */

import { invertSymmetric, type Problem, sandwich } from '@holdfast/psf/numerics';
import type { Follow } from '../pixels/recentering.ts';
import type { PixelList } from '../pixels/valid-pixels.ts';
import {
  type FitPixels,
  type FitWeighting,
  fillInverseVariance,
  weighByLikelihood,
  weighByVariance,
} from './fit-weighting.ts';
import {
  fillModel,
  type ModelProfiles,
  modelUnknowns,
  place,
  shearAt,
  sumProducts,
  sumPulls,
} from './gaussian-equations.ts';
import { createPixelProfile, fillProfile } from './pixel-gaussian.ts';

/** Narrowest Gaussian tried, px: below it all light falls on one pixel and the position inside it is lost. */
const leastSigmaPx = 0.1;

export class GaussianProblem implements Problem {
  readonly n: number;
  readonly lower: Float64Array;
  readonly upper: Float64Array;
  /** All unknowns of the model; x and y from the origin of `begin`. */
  readonly model = new Float64Array(modelUnknowns);
  /** Set between runs: what to minimize. */
  weighting: FitWeighting = 'none';

  readonly #free: Int8Array;
  readonly #list: PixelList;
  readonly #pixels: FitPixels;
  readonly #profiles: ModelProfiles;
  readonly #gradient = new Float64Array(modelUnknowns);
  readonly #products = new Float64Array(modelUnknowns * modelUnknowns);
  /**
   * Entries of the lower triangle over all unknowns, each with where in the matrix over the free ones it is
   * added.
   */
  readonly #entries: Int32Array;
  /** Inverse Hessian of the last covariance. */
  #inverse: Float64Array | undefined;
  #originX = 0;
  #originY = 0;

  /** @param list  the pixels, filled anew before each `begin` */
  constructor(list: PixelList, width: number, height: number, free: Int8Array) {
    this.n = Math.max(...free) + 1;
    this.lower = new Float64Array(this.n).fill(-Infinity);
    this.upper = new Float64Array(this.n).fill(Infinity);
    this.#free = free;
    const entries: number[] = [];
    for (let a = 0; a < modelUnknowns; a++)
      for (let b = 0; b < modelUnknowns; b++)
        if (free[a] >= 0 && free[b] >= 0)
          entries.push(Math.max(a, b) * modelUnknowns + Math.min(a, b), free[a] * this.n + free[b]);
    this.#entries = Int32Array.from(entries);
    this.#list = list;
    const capacity = list.value.length;
    this.#pixels = {
      model: new Float64Array(capacity),
      weight: new Float64Array(capacity),
      pull: new Float64Array(capacity),
    };
    this.#profiles = { columns: createPixelProfile(width), rows: createPixelProfile(height) };
  }

  /** Start on the pixels now in the list, with the unknowns in `model` given in image coordinates. */
  begin(unknowns: Float64Array): void {
    const { model } = this;
    this.#originX = Math.round(model[place.x]);
    this.#originY = Math.round(model[place.y]);
    model[place.x] -= this.#originX;
    model[place.y] -= this.#originY;
    for (let a = 0; a < modelUnknowns; a++) if (this.#free[a] >= 0) unknowns[this.#free[a]] = model[a];
    const { left, right, top, bottom } = this.#list;
    const width = right - left + 1;
    const height = bottom - top + 1;
    this.#limit(place.x, left - width - this.#originX, right + width - this.#originX);
    this.#limit(place.y, top - height - this.#originY, bottom + height - this.#originY);
    this.#limit(place.sigmaX, leastSigmaPx, 2 * width);
    this.#limit(place.sigmaY, leastSigmaPx, 2 * height);
    this.weighting = 'none';
    this.#limit(place.flux, -Infinity, Infinity);
    this.#limit(place.background, -Infinity, Infinity);
  }

  /** Weigh by the variance that the star at `unknowns` has. */
  useVariance(unknowns: Float64Array): void {
    this.weighting = 'noise';
    this.#fillModel(unknowns);
    fillInverseVariance(this.#pixels, this.#list);
  }

  /** Poisson means are not negative. */
  useLikelihood(): void {
    this.weighting = 'likelihood';
    const { count, emptyVariance } = this.#list;
    let least = Infinity;
    for (let k = 0; k < count; k++) if (emptyVariance[k] < least) least = emptyVariance[k];
    this.#limit(place.flux, 0, Infinity);
    this.#limit(place.background, -least, Infinity);
  }

  evaluate(unknowns: Float64Array, gradient: Float64Array, hessian: Float64Array, exact: boolean): number {
    const objective =
      this.weighting === 'none' ? this.#sumPlain(unknowns, exact) : this.#sumWeighted(unknowns, exact);
    gradient.fill(0);
    for (let a = 0; a < modelUnknowns; a++)
      if (this.#free[a] >= 0) gradient[this.#free[a]] += this.#gradient[a];
    this.#reduce(hessian, this.#products);
    return objective;
  }

  #sumPlain(unknowns: Float64Array, exact: boolean): number {
    this.#fillProfiles(unknowns);
    this.#sumProducts();
    return this.#sumPulls(exact);
  }

  /** The Gauss-Newton Hessian, with the weights as they stand. */
  #sumProducts(weight = this.weighting === 'none' ? undefined : this.#pixels.weight): void {
    this.#products.fill(0);
    this.#sum((list, _, products) => {
      sumProducts(products, list, this.#profiles, this.model[place.flux], weight);
      return 0;
    });
  }

  /** Gradient, and the Hessian's part of second derivatives when `exact`, of what `pull` pulls. */
  #sumPulls(exact: boolean, pull?: Float64Array): number {
    return this.#sum(
      (list, gradient, products) =>
        sumPulls(gradient, exact ? products : undefined, list, this.#profiles, this.model, pull),
      exact,
    );
  }

  /**
   * Sum over all pixels at once; or over each row where the rows of a tilted Gaussian stand off each other,
   * by shear * v at v px from its middle. By the chain rule the column's place then depends on y and shear,
   * too.
   */
  #sum(
    see: (list: PixelList, gradient: Float64Array, products: Float64Array) => number,
    exact = false,
  ): number {
    const { model } = this;
    const list = this.#list;
    const gradient = this.#gradient;
    const products = this.#products;
    if (!this.#isTilted) return see(list, gradient, products);
    const n = modelUnknowns;
    const row = { ...list };
    const g = new Float64Array(n);
    const h = new Float64Array(n * n);
    const by = new Float64Array(n);
    let sum = 0;
    gradient.fill(0);
    by[place.y] = -model[shearAt];
    for (let y = list.top; y <= list.bottom; y++) {
      row.top = y;
      row.bottom = y;
      by[shearAt] = y - this.#originY - model[place.y];
      h.fill(0);
      this.#fillProfilesOf(row, model[shearAt] * by[shearAt]);
      sum += see(row, g, h);
      for (let a = 0; a < n; a++) {
        gradient[a] += g[a] + by[a] * g[0];
        for (let b = 0; b <= a; b++)
          products[a * n + b] += h[a * n + b] + by[a] * h[b * n] + by[b] * h[a * n] + by[a] * by[b] * h[0];
      }
      if (exact) products[shearAt * n + place.y] -= g[0];
    }
    return sum;
  }

  #sumWeighted(unknowns: Float64Array, exact: boolean): number {
    this.#fillModel(unknowns);
    const objective = this.#weigh();
    if (exact) this.#sumHessian();
    else {
      this.#sumProducts();
      this.#sumPulls(false, this.#pixels.pull);
    }
    return objective;
  }

  /** Gradient and true Hessian, with weights and pulls as they stand; those of the likelihood are used up. */
  #sumHessian(): void {
    const { weight, pull } = this.#pixels;
    if (this.weighting === 'likelihood') {
      // d/dm of (d - m) / m is -d / m^2, not -1 / m
      const { count } = this.#list;
      for (let k = 0; k < count; k++) weight[k] *= 1 + pull[k];
    }
    this.#sumProducts();
    this.#sumPulls(true, pull);
  }

  scale(out: Float64Array, unknowns: Float64Array): void {
    this.#expand(unknowns);
    const { model } = this;
    const sigma = Math.min(model[place.sigmaX], model[place.sigmaY]);
    const flux = Math.abs(model[place.flux]) + Number.MIN_VALUE;
    for (let a = 0; a < modelUnknowns; a++)
      if (this.#free[a] >= 0)
        out[this.#free[a]] =
          a === place.flux ? flux : a === place.background ? flux / (4 * Math.PI * sigma * sigma) : sigma;
  }

  /** Whether a width rests at the end of its range: the light is no star, or the window too small for it. */
  atWidthLimit(unknowns: Float64Array): boolean {
    for (const a of [place.sigmaX, place.sigmaY]) {
      const i = this.#free[a];
      if (i >= 0 && (unknowns[i] <= this.lower[i] || unknowns[i] >= this.upper[i])) return true;
    }
    return false;
  }

  /** Position in the image and share of the light on the pixels used, at `unknowns`. */
  finish(unknowns: Float64Array): { x: number; y: number; share: number } {
    this.#fillModel(unknowns);
    const { model } = this;
    let light = 0;
    for (let k = 0; k < this.#list.count; k++) light += this.#pixels.model[k] - model[place.background];
    return {
      x: this.#originX + model[place.x],
      y: this.#originY + model[place.y],
      share: light / model[place.flux],
    };
  }

  /**
   * Covariance of the free unknowns at `unknowns`: A^-1 B A^-1 with A the full Hessian of the objective and B
   * = sum(pull' pull'^T) the variance of its gradient under the noise model (the "sandwich" of Huber 1967 and
   * White 1982). It holds for weights that do not match the noise, and for stars that are not Gaussian. The
   * error of a background level that was taken off and is not fitted is added.
   *
   * @returns undefined when the unknowns are not all determined by the data
   */
  covariance(unknowns: Float64Array, backgroundSigma: number): Float64Array | undefined {
    const { n } = this;
    const list = this.#list;
    const { model: scratch, weight } = this.#pixels;
    const { count, variance } = list;
    this.#fillModel(unknowns);
    this.#weigh();
    for (let k = 0; k < count; k++) scratch[k] = weight[k] * weight[k] * variance[k];
    this.#sumProducts(scratch);
    const spread = new Float64Array(n * n);
    this.#reduce(spread, this.#products);
    if (backgroundSigma > 0 && this.#free[place.background] < 0) {
      // A common error of the level pulls all pixels alike: the gradient's share of it is of rank one.
      this.#sumPulls(false, weight);
      const common = new Float64Array(n);
      for (let a = 0; a < modelUnknowns; a++)
        if (this.#free[a] >= 0) common[this.#free[a]] += backgroundSigma * this.#gradient[a];
      for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) spread[i * n + j] += common[i] * common[j];
    }
    this.#sumHessian();
    const hessian = new Float64Array(n * n);
    this.#reduce(hessian, this.#products);
    const inverse = invertSymmetric(hessian, n);
    if (inverse === undefined) return undefined;
    this.#inverse = inverse;
    const covariance = sandwich(inverse, spread, n);
    for (let i = 0; i < n; i++) if (!(covariance[i * n + i] > 0)) return undefined;
    return covariance;
  }

  /**
   * How far the position follows when the window's center moves by 1 px: what the light on the rim pulls,
   * through the inverse Hessian of the covariance taken before. The list must hold the pixels out to half a
   * pixel beyond the rim.
   */
  follow(unknowns: Float64Array, centerX: number, centerY: number, radiusPx: number): Follow {
    const inverse = this.#inverse;
    if (inverse === undefined) return { x: 0, y: 0 };
    const list = this.#list;
    const { pull, model: scratch } = this.#pixels;
    this.#fillModel(unknowns);
    if (this.weighting === 'noise') fillInverseVariance(this.#pixels, list);
    this.#weigh();
    const inner2 = Math.max(0, radiusPx - 0.5) ** 2;
    const along = (center: number, places: Int32Array, unknown: number): number => {
      for (let k = 0; k < list.count; k++) {
        const r2 = (list.column[k] - centerX) ** 2 + (list.row[k] - centerY) ** 2;
        scratch[k] = r2 < inner2 ? 0 : (pull[k] * (places[k] - center)) / Math.sqrt(r2);
      }
      this.#sumPulls(false, scratch);
      let shift = 0;
      for (let a = 0; a < modelUnknowns; a++)
        if (this.#free[a] >= 0) shift -= inverse[unknown * this.n + this.#free[a]] * this.#gradient[a];
      return shift;
    };
    return { x: along(centerX, list.column, 0), y: along(centerY, list.row, 1) };
  }

  #weigh(): number {
    if (this.weighting === 'likelihood') return weighByLikelihood(this.#pixels, this.#list);
    if (this.weighting === 'none') this.#pixels.weight.fill(1, 0, this.#list.count);
    return weighByVariance(this.#pixels, this.#list);
  }

  /** Model in every pixel. */
  #fillModel(unknowns: Float64Array): void {
    this.#fillProfiles(unknowns);
    this.#sum((list) => {
      fillModel(this.#pixels.model, list, this.#profiles, this.model);
      return 0;
    });
  }

  #fillProfiles(unknowns: Float64Array): void {
    this.#expand(unknowns);
    if (!this.#isTilted) this.#fillProfilesOf(this.#list, 0);
  }

  get #isTilted(): boolean {
    return this.#free[shearAt] >= 0;
  }

  #fillProfilesOf({ left, right, top, bottom }: PixelList, offset: number): void {
    const { model } = this;
    const { columns, rows } = this.#profiles;
    const x = model[place.x] + offset;
    fillProfile(columns, right - left + 1, left - this.#originX, x, model[place.sigmaX]);
    fillProfile(rows, bottom - top + 1, top - this.#originY, model[place.y], model[place.sigmaY]);
  }

  #expand(unknowns: Float64Array): void {
    for (let a = 0; a < modelUnknowns; a++) if (this.#free[a] >= 0) this.model[a] = unknowns[this.#free[a]];
  }

  /** Sum the lower triangle of a matrix over all unknowns into the full one over the free unknowns. */
  #reduce(out: Float64Array, full: Float64Array): void {
    const entries = this.#entries;
    out.fill(0, 0, this.n * this.n);
    for (let e = 0; e < entries.length; e += 2) out[entries[e + 1]] += full[entries[e]];
  }

  #limit(a: number, lower: number, upper: number): void {
    const i = this.#free[a];
    if (i < 0) return;
    this.lower[i] = lower;
    this.upper[i] = upper;
  }
}
