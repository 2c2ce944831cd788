/** Center of mass of all the light in the image or window. */

import { requireNames } from '@holdfast/psf/numerics';
import type { Centroid, Image, ImageSize, PreparedEstimator } from '../pixels/centroid.ts';
import { sizeOf } from '../pixels/image-view.ts';
import type { RecenterOptions } from '../pixels/recentering.ts';
import { recenterOptionNames } from '../pixels/recentering.ts';
import { type MomentWeights, prepareMomentEstimator } from './moment-estimator.ts';

/** How a center of mass is taken. */
export type CenterOfMassOptions = RecenterOptions;

const allLight: MomentWeights = {
  threshold: () => -Infinity,
  offset: () => 0,
  fillWeights({ weight, variance, slope }, list) {
    for (let k = 0; k < list.count; k++) {
      weight[k] = list.value[k];
      variance[k] = list.variance[k];
      slope[k] = 1;
    }
  },
};

/**
 * Center of mass of the light of a star.
 *
 *   x = sum(column * v) / sum(v),   y = sum(row * v) / sum(v),   v = electrons - background
 *
 * over the pixels of the window, or of the whole image without `radiusPx`. With a window it is taken
 * anew around the position found, up to `recenter` times. Without a `guess` the first window stands where
 * the smoothed light exceeds half of its peak.
 *
 * Any background left in, b electrons per pixel over n pixels, pulls the result toward the middle of the
 * pixels used, by n b / (flux + n b) of the way. Light beyond the window pulls it too: a window left on
 * its guess (`recenter: 0`) follows the star by less than its motion. In a window that is large for the star,
 * the noise of the empty pixels counts most: its share of the error grows as the square of the window's side.
 *
 * Predicted error (Thomas et al. 2006, MNRAS 371, 323, there for uniform noise):
 *   sigmaX^2 = sum((column - x)^2 V) / flux^2 + (backgroundSigma sum(column - x) / flux)^2,   V = variance of a pixel,
 * and with a window that is centered anew, that times the gain 1 / (1 - follow) squared, follow = shift of
 * the result per shift of the window by some errors of the position, and times 1 + 3 var flux / flux^2,
 * since a window rests more often where the flux came out large. Errors over stated errors then have an
 * rms of 0.99 to 1.06 (Gaussian, Moffat, ring and comet at SNR 6 to 15). First order: it holds while flux >>
 * its own error. What the place in the pixel does to a window of whole pixels is not in it: 0.01 to 0.02
 * px for a star of FWHM 4 px in a radius of 4 px.
 *
 * ```ts
 * const stamp = ndarray(new Float64Array([0, 1, 0, 1, 4, 3, 0, 1, 0]), [3, 3])
 * const found = centerOfMass(stamp)   // { ok: true, x: 1.2, y: 1, flux: 10, iterations: 1 }
 * ```
 * @returns position in px; or 'too-few-pixels' (fewer than 3), 'saturated', 'no-flux', 'too-faint', 'outside'
 *          (beyond the image or the first window), 'clipped' (more than a tenth of the window's area
 *          beyond the image)
 * @throws RangeError or TypeError naming the option that is out of range
 */
export function centerOfMass(image: Image, options: CenterOfMassOptions = {}): Centroid {
  return prepareCenterOfMass(sizeOf(image), options)(image);
}

/** {@link centerOfMass} made ready for many images of one size. */
export function prepareCenterOfMass(size: ImageSize, options: CenterOfMassOptions = {}): PreparedEstimator {
  requireNames('options', options, recenterOptionNames);
  return prepareMomentEstimator(size, options, allLight);
}
