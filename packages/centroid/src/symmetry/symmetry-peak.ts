/** The center of symmetry to a fraction of a pixel, and its error. */
import { splineCurvatures, splineWeights } from '@holdfast/psf/numerics';
import type { FailureReason, ImageSize } from '../pixels/centroid.ts';
import type { PixelList } from '../pixels/valid-pixels.ts';
import { HalfTurn, type StarLight } from './half-turn.ts';
import { fillLagrange, smooth, squareSum } from './line-weights.ts';

/**
 * Degree of the B-splines between the centers compared. They smooth by sqrt(10 / 12) = 0.91 half pixels rms:
 * less, and the noise of pairs of empty pixels counts more; more, and the sharp edges of a bright star count
 * less. In faint stars, where that noise is above a share of the rest, [1 2 1] / 4 is applied twice as well,
 * which makes it 1.35 half pixels. (Measured on rings of 0 to 40 px of blur FWHM 2.5 px: within a few percent
 * of the best width everywhere.)
 */
const degree = 9;
const faintPasses = 2;
const faintShare = 0.15;
const taps = degree + 1;
const before = (degree - 1) / 2;
const mostTaps = taps + 2 * faintPasses;

const maxIterations = 50;

/** Longest step and end of the iteration, in half pixels. */
const longestStep = 0.5;
const settled = 1e-7;

/** Bound of what noise takes from the curvature, so that the error stays finite. */
const mostShare = 0.9;

/** Counts whose square root has a variance of 1/4 however small they are. */
const anscombe = 3 / 8;

export class SymmetryPeak {
  /** The center found, px. */
  x = 0;
  y = 0;
  iterations = 0;
  /** Whether it lies at the end of what was searched: the minimum itself is further on. */
  isBeyond = false;
  /** Mean square difference of the two pixels of a pair about it; 2 for unit noise. */
  difference = 0;

  readonly #list: PixelList;
  readonly #hasNoise: boolean;
  readonly #turn: HalfTurn;
  /** Half side of the grid of centers compared, and of the part where the minimum may lie; in half pixels. */
  readonly #half: number;
  readonly #search: number;
  readonly #side: number;
  readonly #means: Float64Array;
  readonly #squares: Float64Array;
  readonly #pairs: Float64Array;
  /** Squares beyond what noise makes of so many pairs. */
  readonly #excess: Float64Array;
  readonly #values: Float64Array;
  readonly #noise: Float64Array;
  readonly #scratch: readonly Float64Array[];
  readonly #weightX = new Float64Array(mostTaps);
  readonly #weightY = new Float64Array(mostTaps);
  readonly #slopeX = new Float64Array(mostTaps);
  readonly #slopeY = new Float64Array(mostTaps);
  readonly #curveX = new Float64Array(mostTaps);
  readonly #curveY = new Float64Array(mostTaps);
  readonly #lagrangeX = new Float64Array(taps);
  readonly #lagrangeY = new Float64Array(taps);
  /** Sum of the grid under the spline at a place, with its derivatives: value, x, y, xx, xy, yy. */
  readonly #surface = new Float64Array(6);
  /** 2c in the middle of the grid, and the place of the minimum from there. */
  #middleX = 0;
  #middleY = 0;
  #u = 0;
  #v = 0;
  /** How often [1 2 1] / 4 is applied. */
  #passes = 0;
  readonly #isExpected: boolean;
  /**
   * Of the slope at the center: variance from the noise of one pixel of a pair, and from that of both
   * together.
   */
  readonly #spread = { xx: 0, xy: 0, yy: 0, bothX: 0, bothY: 0 };

  /** @param isExpected  the images are expected ones, without noise: only the predicted error minds */
  constructor(
    list: PixelList,
    { width, height }: ImageSize,
    searchPx: number,
    hasNoise: boolean,
    isExpected: boolean,
  ) {
    this.#list = list;
    this.#isExpected = isExpected;
    this.#hasNoise = hasNoise;
    this.#turn = new HalfTurn(list, width, height);
    this.#search = 2 * searchPx;
    this.#half = this.#search + before + 1 + faintPasses;
    this.#side = 2 * this.#half + 1;
    const side = this.#side;
    this.#excess = new Float64Array(side * side);
    this.#means = new Float64Array(side * side);
    this.#squares = new Float64Array(side * side);
    this.#pairs = new Float64Array(side * side);
    const capacity = width * height;
    this.#values = new Float64Array(capacity);
    this.#noise = new Float64Array(capacity);
    this.#scratch = Array.from({ length: 6 }, () => new Float64Array(hasNoise ? capacity : 0));
  }

  /** Look about (x, y) on the pixels now in the list. Returns why there is no center, if there is none. */
  find(x: number, y: number): FailureReason | undefined {
    this.#takeValues();
    this.#middleX = Math.round(2 * x);
    this.#middleY = Math.round(2 * y);
    if (!this.#compare()) return 'clipped';
    // The best whole 2c, by the mean difference of a pair: it does not depend on how many pairs there are.
    const search = this.#search;
    this.#passes = faintPasses;
    let least = Infinity;
    for (let v = -search; v <= search; v++)
      for (let u = -search; u <= search; u++) {
        const mean = this.#sumAround(this.#means, u, v);
        if (mean >= least) continue;
        least = mean;
        this.#u = u;
        this.#v = v;
      }
    // First with the wider smoothing, whose minimum is easier to find, then with the finer one where the star
    // is bright enough.
    const u = this.#u;
    const v = this.#v;
    if (!this.#settle()) {
      if (Math.max(Math.abs(u), Math.abs(v)) < search) return 'not-converged';
      this.isBeyond = true;
      this.x = (this.#middleX + u) / 2;
      this.y = (this.#middleY + v) / 2;
      return undefined;
    }
    const wideU = this.#u;
    const wideV = this.#v;
    this.#passes = 0;
    if (!this.#settle() || this.#isFaint()) {
      this.#passes = faintPasses;
      this.#u = wideU;
      this.#v = wideV;
      if (!this.#settle()) return 'not-converged';
      if (this.#hasNoise) this.#sumNoise();
    }
    this.x = (this.#middleX + this.#u) / 2;
    this.y = (this.#middleY + this.#v) / 2;
    return undefined;
  }

  /** Light within a radius of the center, px. */
  sumLight(radiusPx: number): StarLight {
    return this.#turn.sumLight(this.x, this.y, radiusPx);
  }

  /**
   * 1 sigma of x and y:  covariance of 2c = H^-1 (covariance of the slope) H^-1,  H the curvature.
   *
   * H has noise, too, and the minimum that is found is not always the one by the star. With u the share that
   * the noise of both pixels of a pair has in the slope's variance as it comes from noisy pixels, the
   * variances grow by 1 / (1 - 5 u^2). (The form is a guess, measured on stars of FWHM 1.2 and 3 px and a
   * ring of 14 px at SNR 8 to 20: errors over stated errors have an rms of 0.97 to 1.1, but 1.2 to 1.3 at SNR
   * 9 and below; without it 1.05 at u = 0.1 and 2.6 at 0.4.)
   */
  errors(): { sigmaX: number; sigmaY: number } | undefined {
    const { xx, xy, yy, bothX, bothY } = this.#spread;
    const both = bothX + bothY;
    const share = both > 0 ? both / Math.max(both, xx + yy + 2 * both) : 0;
    const growth = Math.sqrt(1 / (1 - Math.min(mostShare, 5 * share * share)));
    const sxx = xx + bothX;
    const syy = yy + bothY;
    const [, , , hxx, hxy, hyy] = this.#surface;
    const determinant = hxx * hyy - hxy * hxy;
    const varianceX = hyy * hyy * sxx - 2 * hyy * hxy * xy + hxy * hxy * syy;
    const varianceY = hxx * hxx * syy - 2 * hxx * hxy * xy + hxy * hxy * sxx;
    if (!(varianceX > 0 && varianceY > 0 && determinant > 0)) return undefined;
    const perRoot = growth / determinant / 2;
    return { sigmaX: Math.sqrt(varianceX) * perRoot, sigmaY: Math.sqrt(varianceY) * perRoot };
  }

  /**
   * Minimum near (u, v) of the sum of the differences, less what noise alone makes of so many pairs. That is
   * symmetric about the center; the mean is not, as there are fewer pairs on the side where the window ends.
   */
  #settle(): boolean {
    let noise = this.#leastMean();
    for (let pass = 0; pass < 3; pass++) {
      for (let k = 0; k < this.#excess.length; k++)
        this.#excess[k] = this.#squares[k] - noise * this.#pairs[k];
      if (!this.#descend()) return false;
      noise = this.#leastMean();
    }
    this.difference = noise;
    return true;
  }

  /** Whether the noise of both pixels of a pair together is much of the error. */
  #isFaint(): boolean {
    if (!this.#hasNoise) return false;
    this.#sumNoise();
    const { xx, yy, bothX, bothY } = this.#spread;
    return bothX + bothY > faintShare * (xx + yy);
  }

  /**
   * Fill `spread`. In D(c) = sum over n of D(n) B(2c - n) the slope moves with pixel k by g(k) = 2 (e *
   * B')(2c - k) - 2 e(k) (u * B')(2c - k), u = 1 in the pixels used: the second part counts where a partner
   * may lie beyond them. Noise in e makes of sum(V g g^T) too much by twice what the noise of both pixels of
   * a pair really adds, 2 sum(V^2) sum(B' B'^T), and what that of one alone adds, 2 sum(V^2 (u * B')^2).
   */
  #sumNoise(): void {
    const [bx, by, usedX, usedY, bySlope, byWeight] = this.#scratch;
    const { count } = this.#list;
    const values = this.#values;
    const noise = this.#noise;
    const length = taps + 2 * this.#passes;
    const first = before + this.#passes;
    this.#sumAround(this.#excess, this.#u, this.#v);
    const weightX = this.#weightX.subarray(0, length);
    const weightY = this.#weightY.subarray(0, length);
    const slopeX = this.#slopeX.subarray(0, length);
    const slopeY = this.#slopeY.subarray(0, length);
    const nx = this.#middleX + Math.floor(this.#u);
    const ny = this.#middleY + Math.floor(this.#v);
    const { values: dense, used } = this.#turn;
    const weights = { weightX, weightY, slopeX, slopeY };
    this.#turn.readPartners(bx, by, dense, weights, first, nx, ny, [bySlope, byWeight]);
    this.#turn.readPartners(usedX, usedY, used, weights, first, nx, ny, [bySlope, byWeight]);
    let xx = 0;
    let xy = 0;
    let yy = 0;
    let squares = 0;
    const alone = this.#isExpected ? 1 : -1;
    for (let k = 0; k < count; k++) {
      const v = 4 * noise[k];
      const gx = bx[k] - values[k] * usedX[k];
      const gy = by[k] - values[k] * usedY[k];
      const square = 2 * noise[k] * noise[k];
      const own = alone * square;
      xx += v * gx * gx + own * usedX[k] * usedX[k];
      xy += v * gx * gy + own * usedX[k] * usedY[k];
      yy += v * gy * gy + own * usedY[k] * usedY[k];
      squares += square;
    }
    const out = this.#spread;
    out.bothX = squares * squareSum(slopeX) * squareSum(weightY);
    out.bothY = squares * squareSum(weightX) * squareSum(slopeY);
    const tooMuch = this.#isExpected ? 0 : 2;
    out.xx = xx - tooMuch * out.bothX;
    out.xy = xy;
    out.yy = yy - tooMuch * out.bothY;
  }

  #takeValues(): void {
    const { count, value, variance, emptyVariance } = this.#list;
    const values = this.#values;
    const noise = this.#noise;
    if (this.#hasNoise) {
      // One level for all pixels: where the background slopes, the square roots of a symmetric star would not
      // be symmetric.
      let level = 0;
      for (let k = 0; k < count; k++) level += emptyVariance[k];
      level /= count;
      const empty = 2 * Math.sqrt(level + anscombe);
      for (let k = 0; k < count; k++) {
        const counts = Math.max(0, value[k] + level) + anscombe;
        values[k] = 2 * Math.sqrt(counts) - empty;
        // Near 1 from a few counts on; a pixel that expects none has none.
        noise[k] = variance[k] / counts;
      }
    } else for (let k = 0; k < count; k++) values[k] = value[k];
    this.#turn.begin(values);
  }

  /**
   * Fill the grid; false where a center that matters has too few pairs. In the corners that the spline hardly
   * sees, any will do.
   */
  #compare(): boolean {
    const half = this.#half;
    const turn = this.#turn;
    const inner = this.#search + 2;
    let largest = 0;
    for (let v = -half, k = 0; v <= half; v++)
      for (let u = -half; u <= half; u++, k++) {
        const mean = turn.compare(this.#middleX + u, this.#middleY + v);
        if (mean === Infinity && Math.max(Math.abs(u), Math.abs(v)) <= inner) return false;
        if (mean < Infinity && mean > largest) largest = mean;
        this.#means[k] = mean;
        this.#squares[k] = turn.squares;
        this.#pairs[k] = turn.pairs;
      }
    for (let k = 0; k < this.#means.length; k++) if (this.#means[k] === Infinity) this.#means[k] = largest;
    return true;
  }

  #place(u: number, v: number): void {
    splineWeights(this.#weightX, this.#slopeX, u - Math.floor(u), degree);
    splineWeights(this.#weightY, this.#slopeY, v - Math.floor(v), degree);
    splineCurvatures(this.#curveX, u - Math.floor(u), degree);
    splineCurvatures(this.#curveY, v - Math.floor(v), degree);
    for (let pass = 0; pass < this.#passes; pass++) {
      const length = taps + 2 * pass;
      smooth(this.#weightX, length);
      smooth(this.#weightY, length);
      smooth(this.#slopeX, length);
      smooth(this.#slopeY, length);
      smooth(this.#curveX, length);
      smooth(this.#curveY, length);
    }
  }

  /** A grid under the spline at (u, v); fills `surface`. */
  #sumAround(grid: Float64Array, u: number, v: number): number {
    this.#place(u, v);
    const side = this.#side;
    const out = this.#surface.fill(0);
    const first = this.#half - before - this.#passes;
    const length = taps + 2 * this.#passes;
    let at = (Math.floor(v) + first) * side + Math.floor(u) + first;
    for (let j = 0; j < length; j++, at += side) {
      let s0 = 0;
      let s1 = 0;
      let s2 = 0;
      for (let i = 0; i < length; i++) {
        const d = grid[at + i];
        s0 += this.#weightX[i] * d;
        s1 += this.#slopeX[i] * d;
        s2 += this.#curveX[i] * d;
      }
      out[0] += this.#weightY[j] * s0;
      out[1] += this.#weightY[j] * s1;
      out[2] += this.#slopeY[j] * s0;
      out[3] += this.#weightY[j] * s2;
      out[4] += this.#slopeY[j] * s1;
      out[5] += this.#curveY[j] * s0;
    }
    return out[0];
  }

  /**
   * Mean difference at the center itself, where noise alone is left: by polynomials through 10 by 10 of the
   * grid.
   */
  #leastMean(): number {
    const u = Math.floor(this.#u);
    const v = Math.floor(this.#v);
    fillLagrange(this.#lagrangeX, this.#u - u, before);
    fillLagrange(this.#lagrangeY, this.#v - v, before);
    let sum = 0;
    for (let j = 0; j < taps; j++) {
      let line = 0;
      const at = (v - before + j + this.#half) * this.#side + u - before + this.#half;
      for (let i = 0; i < taps; i++) line += this.#lagrangeX[i] * this.#means[at + i];
      sum += this.#lagrangeY[j] * line;
    }
    return Math.max(0, sum);
  }

  /** Newton's steps to the minimum of the grid; false when there is none nearby. */
  #descend(): boolean {
    const limit = this.#search + 1;
    this.isBeyond = false;
    for (this.iterations = 1; this.iterations <= maxIterations; this.iterations++) {
      this.#sumAround(this.#excess, this.#u, this.#v);
      const [, gx, gy, hxx, hxy, hyy] = this.#surface;
      const determinant = hxx * hyy - hxy * hxy;
      // The surface of a faint star has saddles: there the longest step downhill.
      const isBowl = hxx > 0 && determinant > 1e-12 * hxx * hyy;
      const stepX = isBowl ? (hxy * gy - hyy * gx) / determinant : -gx;
      const stepY = isBowl ? (hxy * gx - hxx * gy) / determinant : -gy;
      const length = Math.sqrt(stepX * stepX + stepY * stepY);
      if (!(length > 0)) return isBowl;
      const share = isBowl ? Math.min(1, longestStep / length) : longestStep / length;
      this.#u += share * stepX;
      this.#v += share * stepY;
      if (Math.abs(this.#u) >= limit || Math.abs(this.#v) >= limit) {
        this.isBeyond = true;
        this.#u = Math.min(limit, Math.max(-limit, this.#u));
        this.#v = Math.min(limit, Math.max(-limit, this.#v));
        return true;
      }
      if (isBowl && length < settled) return true;
    }
    return false;
  }
}
