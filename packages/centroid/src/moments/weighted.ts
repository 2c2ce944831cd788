/** Center of mass under a Gaussian weight that follows the star. */

import { requireInteger, requireNames, requirePositive, requireWithin } from '@holdfast/psf/numerics';
import {
  type Centroid,
  type EstimatorOptions,
  type Image,
  type ImageSize,
  notLocated,
  type PreparedEstimator,
} from '../pixels/centroid.ts';
import { estimatorOptionNames, resolveOptions } from '../pixels/estimator-options.ts';
import { sizeOf } from '../pixels/image-view.ts';
import { StarWindow } from '../pixels/star-window.ts';
import {
  gaussianFwhmPerSigma,
  noNoise,
  noSums,
  prepareWeightedSums,
  type WeightedNoise,
  type WeightedSums,
} from './weighted-sums.ts';

/** How the Gaussian weight is laid. */
export interface WeightedOptions extends EstimatorOptions {
  /**
   * Full width at half maximum of the weight, px, >= 2. Of the star's own order; for a ring, about its outer
   * diameter.
   */
  readonly weightFwhmPx: number;
  /** Iterations after which it is 'not-converged'. Default 50. */
  readonly maxIterations?: number;
  /** Converged when the position moves by less than this, px. Default 1e-4. */
  readonly tolerancePx?: number;
}

/**
 * Least FWHM of the weight, px. Pixels do not sample a narrower one, and the result leans to the middle of a
 * pixel: by up to 0.23 px with 1.2 px; with 2 px by 0.009 px for a star of FWHM 1.8 px, 0.04 px for one of
 * 1.2 px, less for wider ones (computed).
 */
export const leastWeightFwhmPx = 2;

const weightedDefaults = { maxIterations: 50, tolerancePx: 1e-4 } as const;

/** Position and flux are three unknowns. */
const leastPixels = 3;

/** Least distance of the image's edge, in rms radii of the weighted light: nearer, the missing half pulls. */
const leastEdge = 1.5;

/**
 * Center of mass of the light under a Gaussian weight W, centered on the result itself:
 *
 *   sum(W(r) v dx) = 0,  sum(W(r) v dy) = 0,   W = exp(-r^2 / 2 s^2),  s = weightFwhmPx / 2.355,  v = electrons - background
 *
 * where (dx, dy) is a pixel's place from the result and r its distance. A weight that stays in place shifts
 * by less than the star and needs a gain, which depends on the star's width: for Gaussians (FWHM_star^2 +
 * FWHM_weight^2) / FWHM_weight^2. Moved along with the star until nothing is left to correct, it needs none:
 * on a symmetric star the result is its center. A level left in the image hardly pulls, as the weight is
 * symmetric too.
 *
 * Narrow weights keep the noise of the empty pixels out; a weight as wide as a Gaussian star gives the error
 * of an unweighted least-squares fit (read noise: the least possible; photons: 4/3 of it), an ever wider one
 * that of the center of mass. In the middle of a ring the light balances stably only under a weight wider
 * than D sqrt(ln2 (1 - e^2) / (2 ln(1 / e))) of the outer diameter D and obstruction ratio e (derived): 0.54
 * D for e = 0.35, 0.83 D for a thin ring.
 *
 * Predicted error, with A = sum(W v (1 - r r^T / s^2)) the fall of the moments as the weight moves on (Thomas
 * et al. 2006, MNRAS 371, 323, for Gaussian stars):
 *   covariance = A^-1 (sum(W^2 V r r^T) + backgroundSigma^2 sum(W r) sum(W r)^T) A^-1,   V = variance of a pixel
 *
 * The place in the pixel pulls a star that the pixels hardly sample: see `leastWeightFwhmPx`.
 *
 * `flux` is twice the weighted light, which is the flux of a Gaussian star as wide as the weight. The
 * window, if any, stays where it is laid first: give it room.
 *
 * ```ts
 * const found = weightedCenterOfMass(stamp, { weightFwhmPx: 3.5, guess: { x: 15, y: 16 }, noise: { readNoiseE: 1.5 } })
 * ```
 * @returns position in px; or 'too-few-pixels' (fewer than 3), 'saturated', 'no-flux', 'not-converged'
 *          (iteration limit, or the light does not balance stably), 'outside', 'clipped' (the edge of the
 *          image is nearer than 1.5 times the rms radius of the weighted light), 'too-faint'
 * @throws RangeError or TypeError naming the option that is out of range
 */
export function weightedCenterOfMass(image: Image, options: WeightedOptions): Centroid {
  return prepareWeightedCenterOfMass(sizeOf(image), options)(image);
}

/** {@link weightedCenterOfMass} made ready for many images of one size. */
export function prepareWeightedCenterOfMass(size: ImageSize, options: WeightedOptions): PreparedEstimator {
  requireNames('options', options, estimatorOptionNames, 'weightFwhmPx maxIterations tolerancePx');
  const resolved = resolveOptions(size, options);
  const weightFwhmPx = requireWithin('weightFwhmPx', options.weightFwhmPx, leastWeightFwhmPx, 1e6);
  const maxIterations = requireInteger(
    'maxIterations',
    options.maxIterations ?? weightedDefaults.maxIterations,
    1,
    1e6,
  );
  const tolerancePx = requirePositive('tolerancePx', options.tolerancePx ?? weightedDefaults.tolerancePx);
  const { width, height } = resolved.size;
  const { hasNoise, minSnr } = resolved;
  const sigma = weightFwhmPx / gaussianFwhmPerSigma;
  const window = new StarWindow(resolved, leastPixels);
  const { list } = window;
  const summing = prepareWeightedSums(width, height, weightFwhmPx);
  const sums: WeightedSums = noSums();
  const noise: WeightedNoise = noNoise();

  return (image, guess, givenBackground): Centroid => {
    const lost = window.begin(image, guess, givenBackground);
    if (lost !== undefined) return lost;
    window.selectPixels(window.startX, window.startY);
    const refusal = window.refusal();
    if (refusal !== undefined) return refusal;
    let x = window.startX;
    let y = window.startY;
    if (Number.isNaN(x)) {
      const rough = window.roughStar();
      if (rough === undefined) return notLocated('no-flux');
      ({ x, y } = rough);
    }
    let iterations = 0;
    for (;;) {
      summing.sum(sums, list, list.value, x, y);
      iterations++;
      const { light, momentX, momentY, slopeXX, slopeXY, slopeYY } = sums;
      if (!(light > 0)) return notLocated('no-flux');
      const determinant = slopeXX * slopeYY - slopeXY * slopeXY;
      const isStable = slopeXX > 0 && determinant > 0;
      // Newton's step where the light balances stably here; else toward the light's center of mass, which is
      // uphill always.
      let stepX = momentX / light;
      let stepY = momentY / light;
      if (isStable) {
        const newtonX = (slopeYY * momentX - slopeXY * momentY) / determinant;
        const newtonY = (slopeXX * momentY - slopeXY * momentX) / determinant;
        if (newtonX * newtonX + newtonY * newtonY < sigma * sigma) {
          stepX = newtonX;
          stepY = newtonY;
        }
      }
      x += stepX;
      y += stepY;
      if (!window.holds(x, y)) return notLocated('outside');
      const step2 = stepX * stepX + stepY * stepY;
      if (step2 < tolerancePx * tolerancePx) {
        if (!isStable) return notLocated('not-converged');
        break;
      }
      if (iterations >= maxIterations) return notLocated('not-converged');
    }
    const { light, slopeXX, slopeXY, slopeYY, spread } = sums;
    const edge = Math.min(x, width - 1 - x, y, height - 1 - y) + 0.5;
    if (edge < leastEdge * Math.sqrt(Math.max(0, spread / light))) return notLocated('clipped');
    const found = { ok: true, x, y, flux: 2 * light, iterations } as const;
    if (!hasNoise) return found;

    summing.sumNoise(noise, list, list.variance, x, y);
    const common2 = window.background.sigma * window.background.sigma;
    const snr = light / Math.sqrt(noise.light + common2 * noise.commonLight * noise.commonLight);
    if (!(snr >= minSnr)) return notLocated('too-faint');
    const { sigmaX, sigmaY } = weightedErrors(noise, slopeXX, slopeXY, slopeYY, common2);
    return { ...found, sigmaX, sigmaY, snr };
  };
}

/** A^-1 B A^-1 for the two coordinates. */
export function weightedErrors(
  { xx, xy, yy, commonX, commonY }: WeightedNoise,
  slopeXX: number,
  slopeXY: number,
  slopeYY: number,
  common2: number,
): { sigmaX: number; sigmaY: number } {
  const bxx = xx + common2 * commonX * commonX;
  const bxy = xy + common2 * commonX * commonY;
  const byy = yy + common2 * commonY * commonY;
  const determinant = slopeXX * slopeYY - slopeXY * slopeXY;
  const varianceX = slopeYY * slopeYY * bxx - 2 * slopeYY * slopeXY * bxy + slopeXY * slopeXY * byy;
  const varianceY = slopeXX * slopeXX * byy - 2 * slopeXX * slopeXY * bxy + slopeXY * slopeXY * bxx;
  return { sigmaX: Math.sqrt(varianceX) / determinant, sigmaY: Math.sqrt(varianceY) / determinant };
}
