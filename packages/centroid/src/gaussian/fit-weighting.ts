/**
 * What a fit minimizes. Each function goes over the pixels once: it returns the objective and fills, per
 * pixel, the `weight` of products of model derivatives and the `pull` of the data on the model, so that
 *
 *   gradient = -sum(pull dm/da),   Gauss-Newton Hessian = sum(weight dm/da dm/db)
 */
import { log } from '@holdfast/psf/numerics';
import type { PixelList } from '../pixels/valid-pixels.ts';

/** How a fit weighs the pixels. */
export type FitWeighting =
  /** all alike: least squares without weights */
  | 'none'
  /** by the inverse variance that the noise model gives for the fitted star */
  | 'noise'
  /** maximum likelihood of Poisson counts */
  | 'likelihood';

export const fitWeightings = ['none', 'noise', 'likelihood'] as const;

/** Arrays of one fit, one entry per pixel. */
export interface FitPixels {
  readonly model: Float64Array;
  readonly weight: Float64Array;
  readonly pull: Float64Array;
}

/**
 * Least variance a pixel is weighed by, e^2: below about one electron the noise is not normal, and an inverse
 * variance would let a single stray photon outweigh the star.
 */
const leastVariance = 1;

/** Least expected count of a pixel, electrons: only there to keep its logarithm finite. */
const leastExpected = 1e-9;

/** Half the sum of squared residuals over variances; `weight` holds the inverse variances. */
export function weighByVariance({ model, weight, pull }: FitPixels, { count, value }: PixelList): number {
  let sum = 0;
  for (let k = 0; k < count; k++) {
    const r = value[k] - model[k];
    const pulled = weight[k] * r;
    pull[k] = pulled;
    sum += pulled * r;
  }
  return sum / 2;
}

/** Fill `weight` with the inverse of the variance expected of the model as it stands. */
export function fillInverseVariance({ model, weight }: FitPixels, { count, emptyVariance }: PixelList): void {
  for (let k = 0; k < count; k++) weight[k] = 1 / Math.max(leastVariance, model[k] + emptyVariance[k]);
}

/**
 * Half the Poisson deviance, sum(mu - d + d ln(d / mu)), with d = electrons + background + backgroundE + R^2
 * against mu = model + the same: a normal read noise of variance R^2 is taken for a Poisson one of mean R^2
 * (Snyder, Hammoud & White 1993, J. Opt. Soc. Am. A 10, 1014; from memory). Right to second order, and exact
 * for R = 0.
 */
export function weighByLikelihood(
  { model, weight, pull }: FitPixels,
  { count, variance, emptyVariance }: PixelList,
): number {
  let sum = 0;
  for (let k = 0; k < count; k++) {
    const d = variance[k];
    const mu = Math.max(leastExpected, model[k] + emptyVariance[k]);
    const w = 1 / mu;
    weight[k] = w;
    pull[k] = (d - mu) * w;
    sum += mu - d;
    if (d > 0) sum += d * log(d * w);
  }
  return sum;
}
