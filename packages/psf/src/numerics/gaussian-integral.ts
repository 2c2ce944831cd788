/** The integral of the unit Gaussian from a table: right to 1e-15, 6 ns where an error function takes 54 ns. */
import { exp } from './exp-log.ts';

/** Beyond so many sigmas a Gaussian counts as ended: 3.2e-14 of it lies further out on one side. */
export const gaussianReach = 7.5;

// Taylor series about the points of a grid: the first term left out is below 5e-16 everywhere.
const pointsPerSigma = 16;
const limit = 8;
const terms = 8;
const table = new Float64Array((2 * limit * pointsPerSigma + 1) * terms);
for (let g = 0; g * terms < table.length; g++)
  cumulativeSeries(table, g * terms, terms, g / pointsPerSigma - limit);

/**
 * Write the Taylor coefficients about t of the Gaussian's integral Phi to out[at] ... out[at + count - 1]. The m-th
 * derivative of the Gaussian phi is (-1)^m He[m] phi, with the Hermite polynomials He[m + 1] = t He[m] - m He[m - 1].
 */
export function cumulativeSeries(out: Float64Array, at: number, count: number, t: number): void {
  let derivative = exp(-0.5 * t * t) / Math.sqrt(2 * Math.PI);
  let before = 0;
  let factorial = 1;
  out[at] = 0.5 + centralIntegral(t, derivative);
  for (let m = 0; m + 1 < count; m++) {
    factorial *= m + 1;
    out[at + m + 1] = derivative / factorial;
    const after = -(t * derivative + m * before);
    before = derivative;
    derivative = after;
  }
}

/**
 * Integral of the unit Gaussian from 0 to t, given its density there: density * (t + t^3 / 3 + t^5 / 15 + ...), each term
 * t^2 / (2 n + 1) times the one before (Abramowitz & Stegun 26.2.11). All have one sign, so that no digits cancel.
 */
function centralIntegral(t: number, density: number): number {
  // Where the density goes under, the series would go over.
  if (Math.abs(t) > 9) return t < 0 ? -0.5 : 0.5;
  let term = t;
  let sum = t;
  for (let n = 3; Math.abs(term) > 1e-17 * Math.abs(sum); n += 2) {
    term *= (t * t) / n;
    sum += term;
  }
  return density * sum;
}

/**
 * Fraction of a unit Gaussian below t: (1 + erf(t / sqrt 2)) / 2, with an error below 1e-15.
 *
 * @param t any number of sigmas
 */
export function cumulativeGaussian(t: number): number {
  if (t <= -limit) return 0;
  if (t >= limit) return 1;
  const g = Math.floor((t + limit) * pointsPerSigma + 0.5);
  const d = t - (g / pointsPerSigma - limit);
  const k = g * terms;
  const c = table;
  return (
    c[k] +
    d *
      (c[k + 1] +
        d * (c[k + 2] + d * (c[k + 3] + d * (c[k + 4] + d * (c[k + 5] + d * (c[k + 6] + d * c[k + 7]))))))
  );
}

/**
 * Fraction of a line of Gaussian light in each pixel: Phi((i + 1/2 - centre) / sigma) - Phi((i - 1/2 - centre) / sigma).
 *
 * @param out     one value a pixel, all overwritten; never negative
 * @param centre  where the Gaussian lies, px
 * @param sigma   its rms width, px, > 0
 */
export function gaussianPixels(out: Float64Array, centre: number, sigma: number): void {
  const size = out.length;
  const reach = gaussianReach * sigma + 0.5;
  const from = Math.min(size, Math.max(0, Math.ceil(centre - reach)));
  const to = Math.max(from, Math.min(size, Math.floor(centre + reach) + 1));
  out.fill(0, 0, from);
  let below = from < to ? cumulativeGaussian((from - 0.5 - centre) / sigma) : 0;
  for (let i = from; i < to; i++) {
    const above = cumulativeGaussian((i + 0.5 - centre) / sigma);
    out[i] = above > below ? above - below : 0;
    below = above;
  }
  out.fill(0, to);
}
