/** Errors of the unknowns of a fit, from noise and from the unevenness of its light. */

import { invertSymmetric, sandwich } from '@holdfast/psf/numerics';
import type { PictureModel, PictureTraits } from './picture-model.ts';
import { smoothedProducts } from './ring-error.ts';
import { addExpectations, type Expectation, normalEquations, weightOf } from './ring-normal.ts';
import type { StampPixels } from './ring-start.ts';
import { huberBound, noiseVariance } from './ring-weights.ts';

/**
 * Inverse curvature of Huber's function: alone, and as the bread of a sandwich with each variance of the
 * score.
 */
export function covariancesAt(
  { width, height, pixels, use }: StampPixels,
  model: PictureModel,
  u: Float64Array,
  fixedVariance: number,
  unevenness: number,
  expectations: readonly Expectation[],
  slopes: readonly Float64Array[],
): Float64Array[] | undefined {
  const n = u.length;
  const traits = model.traits(u);
  const count = pixels.length;
  const values = new Float64Array(count);
  const curvature = new Float64Array(count);
  model.slopesInto(values, slopes, u);
  const byResidual = slopes.map(() => new Float64Array(count));
  const byUnevenness = unevenness === 0 ? [] : slopes.map(() => new Float64Array(count));
  const perLight = uncertainUnevenness(unevenness, traits, n) / traits.level;
  for (let k = 0; k < count; k++) {
    if (!use[k]) continue;
    const residual = pixels[k] - values[k];
    const weight = weightOf(values[k], residual, fixedVariance, unevenness);
    const variance = noiseVariance(fixedVariance, values[k]) + unevenness * unevenness;
    curvature[k] = residual * residual < huberBound * huberBound * variance ? weight : 0;
    for (let i = 0; i < n; i++) byResidual[i][k] = weight * residual * slopes[i][k];
    if (unevenness === 0) continue;
    const uneven = perLight * Math.max(0, values[k] - traits.background);
    for (let i = 0; i < n; i++) byUnevenness[i][k] = weight * uneven * slopes[i][k];
  }
  const hessian = new Float64Array(n * n);
  const unused = new Float64Array(n);
  normalEquations(hessian, unused, slopes, values, curvature);
  // noise without its correlated part, to which that of the unevenness is added
  const blur = traits.blurPx;
  const white = noiseProducts(slopes, values, curvature, fixedVariance);
  const fromLight =
    unevenness === 0
      ? white
      : smoothedProducts(byUnevenness, width, height, lengthPerBlur * blur).map(
          (value, i) => value + white[i],
        );
  const fromResiduals = smoothedProducts(byResidual, width, height, Math.max(0.5, 1.5 * blur));
  for (const matrix of [hessian, fromLight, fromResiduals]) addExpectations(matrix, unused, u, expectations);
  const inverse = invertSymmetric(hessian, n);
  if (inverse === undefined) return undefined;
  return [inverse, sandwich(inverse, fromLight, n), sandwich(inverse, fromResiduals, n)];
}

/** L of noise that went through a Gaussian blur of rms s is sqrt(2) s; this is per FWHM. */
const lengthPerBlur = 1 / Math.sqrt(4 * Math.LN2);

/**
 * The unevenness before the fit made it smaller by following some of it, if it comes in cells of the blur's
 * size.
 */
function uncertainUnevenness(
  unevenness: number,
  { blurPx, areaPx2 }: PictureTraits,
  unknowns: number,
): number {
  const length = lengthPerBlur * blurPx;
  const cells = areaPx2 / (2 * Math.PI * Math.max(0.16, length * length));
  // never more than three times: with so few cells the unknowns follow nearly all of it
  return unevenness * Math.sqrt(1 / Math.max(1 / 9, 1 - (unknowns - 2) / cells));
}

/** sum of w^2 var df df^T: the variance of the score from photon and read noise. */
function noiseProducts(
  slopes: readonly Float64Array[],
  values: Float64Array,
  weights: Float64Array,
  fixedVariance: number,
): Float64Array {
  const squared = weights.map((weight, k) => weight * weight * noiseVariance(fixedVariance, values[k]));
  const out = new Float64Array(slopes.length * slopes.length);
  normalEquations(out, new Float64Array(slopes.length), slopes, values, squared);
  return out;
}
