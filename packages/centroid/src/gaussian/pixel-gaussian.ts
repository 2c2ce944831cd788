/**
 * A Gaussian integrated over pixels, along one axis: share of the light in each column (or row), and its
 * derivatives with respect to position and width. A circular or axis-aligned Gaussian on pixels is the
 * product of two such profiles.
 *
 *   g(i) = Phi(b) - Phi(a),   a, b = (i -+ 1/2 - position) / sigma
 */
import { normalInto } from '@holdfast/psf/numerics';

/**
 * Profile over neighboring pixels with its derivatives; only the first `length` entries asked for are meant.
 */
export interface PixelProfile {
  /** g: share of the light. */
  readonly share: Float64Array;
  /** dg / dposition and dg / dsigma, per px. */
  readonly byPosition: Float64Array;
  readonly bySigma: Float64Array;
  /** Second derivatives, per px^2. That by position alone is dg / dsigma over sigma. */
  readonly byPositionSigma: Float64Array;
  readonly bySigma2: Float64Array;
}

export function createPixelProfile(length: number): PixelProfile {
  return {
    share: new Float64Array(length),
    byPosition: new Float64Array(length),
    bySigma: new Float64Array(length),
    byPositionSigma: new Float64Array(length),
    bySigma2: new Float64Array(length),
  };
}

/** Integral and density at one edge. */
const normal = new Float64Array(2);

/**
 * Fill a profile for the `length` pixels whose centers lie at first, first + 1, ... With u an edge of a pixel
 * and p = exp(-u^2 / 2) / (sqrt(2 pi) sigma):
 *
 *   dPhi/dx = -p,   dPhi/dsigma = -u p,
 *   d^2 Phi/dx dsigma = (1 - u^2) p / sigma,   d^2 Phi/dsigma^2 = (2 u - u^3) p / sigma
 */
export function fillProfile(
  out: PixelProfile,
  length: number,
  first: number,
  position: number,
  sigma: number,
): void {
  const { share, byPosition, bySigma, byPositionSigma, bySigma2 } = out;
  const inverse = 1 / sigma;
  let half = 0;
  let p = 0;
  let up = 0;
  let xs = 0;
  let ss = 0;
  for (let i = -1; i < length; i++) {
    const u = (first + i + 0.5 - position) * inverse;
    normalInto(normal, u);
    const nextHalf = normal[0];
    const nextP = normal[1] * inverse;
    const nextUp = u * nextP;
    const nextXS = (1 - u * u) * nextP;
    const nextSS = (2 - u * u) * nextUp;
    if (i >= 0) {
      share[i] = nextHalf - half;
      byPosition[i] = p - nextP;
      bySigma[i] = up - nextUp;
      byPositionSigma[i] = (nextXS - xs) * inverse;
      bySigma2[i] = (nextSS - ss) * inverse;
    }
    half = nextHalf;
    p = nextP;
    up = nextUp;
    xs = nextXS;
    ss = nextSS;
  }
}

/** Share of the light on the pixels from the one centered at `first` to the one at `last`. */
export function shareBetween(first: number, last: number, position: number, sigma: number): number {
  normalInto(normal, (first - 0.5 - position) / sigma);
  const below = normal[0];
  normalInto(normal, (last + 0.5 - position) / sigma);
  return normal[0] - below;
}
