/** Centre of mass of the light above a threshold. */

import { requireFinite, requireOneOf } from '@holdfast/psf/numerics';
import type { Centroid, Image, ImageSize, PreparedEstimator } from '../pixels/centroid.ts';
import { sizeOf } from '../pixels/image-view.ts';
import type { ApertureOptions } from '../pixels/recentring.ts';
import type { PixelList } from '../pixels/valid-pixels.ts';
import { type MomentWeights, prepareMomentEstimator } from './moment-estimator.ts';
import { type PixelMoments, type ThresholdForm, thresholdPixel } from './threshold-noise.ts';

/** How the light above a threshold is measured. */
export interface ThresholdedOptions extends ApertureOptions {
  /** Threshold in electrons above the background. Give this or `thresholdSigma`. */
  readonly threshold?: number;
  /** Threshold in units of the noise of an empty pixel, which `noise` and `background` tell. Default 2. */
  readonly thresholdSigma?: number;
  /** Default 'subtract'. */
  readonly form?: ThresholdForm;
}

/** The one place that says them, for every package. */
export const thresholdedDefaults = { thresholdSigma: 2, form: 'subtract' } as const;

const forms = ['subtract', 'keep'] as const;

/**
 * Centre of mass of the pixels that exceed a threshold t.
 *
 *   x = sum(column * w) / sum(w),   w = v - t ('subtract') or v ('keep') where v > t, else 0;   v = electrons - background
 *
 * The empty pixels no longer add their noise, at the price of a bias: the star's faint flanks are cut off too, by steps of
 * whole pixels. Background left in below the threshold moves 'keep' by nothing and 'subtract' by a lowered threshold only.
 * Aperture, guess and recentring are as in {@link centerOfMass}. `flux` is the electrons of the pixels above the
 * threshold, in both forms; `snr` counts only what exceeds the light that empty pixels would show by their noise, so that
 * a wide aperture on an empty frame holds no star.
 *
 * Predicted error: sigmaX^2 = sum((column - x)^2 passed V) / sum(w)^2 plus the background's share, where `passed` is the
 * variance of w over that of v for a pixel whose mean is that of its neighbourhood, [1 2 1] x [1 2 1]: pixels that
 * come and go at the threshold count for what they do. Some 5 % too large, for 'keep' 10 to 20 %.
 *
 * ```ts
 * const stamp = ndarray(new Float64Array([1, 1, 1, 1, 5, 3, 1, 1, 1]), [3, 3])
 * const found = thresholdedCenterOfMass(stamp, { threshold: 2 })   // { ok: true, x: 1.25, y: 1, flux: 8, iterations: 1 }
 * ```
 * @returns position in px; or the failures of `centerOfMass`, 'no-flux' also when no pixel exceeds the threshold
 * @throws RangeError or TypeError naming the option that is out of range; when both thresholds are given; when neither
 *         `threshold` nor `noise` is
 */
export function thresholdedCenterOfMass(image: Image, options: ThresholdedOptions): Centroid {
  return prepareThresholdedCenterOfMass(sizeOf(image), options)(image);
}

/** {@link thresholdedCenterOfMass} made ready for many images of one size. */
export function prepareThresholdedCenterOfMass(
  size: ImageSize,
  options: ThresholdedOptions,
): PreparedEstimator {
  const weights = thresholdWeights(options);
  return prepareMomentEstimator(size, options, {
    ...weights,
    passNoise: preparePassNoise(size, options.form),
    // `flux` is the electrons above the threshold in both forms: those of the 'keep' form.
    emptyLight: (out, sigma, level) => {
      if (sigma > 0) thresholdPixel(out, 0, sigma, level, 'keep');
    },
  });
}

/** The weights that the options ask for. */
export function thresholdWeights({
  threshold,
  thresholdSigma,
  form = thresholdedDefaults.form,
  noise,
}: Pick<ThresholdedOptions, 'threshold' | 'thresholdSigma' | 'form' | 'noise'>): MomentWeights {
  requireOneOf('form', form, forms);
  if (threshold !== undefined && thresholdSigma !== undefined)
    throw new TypeError('give threshold or thresholdSigma, got both');
  if (threshold === undefined && noise === undefined)
    throw new TypeError('thresholdSigma needs noise; give noise, or threshold in electrons');
  if (threshold !== undefined) requireFinite('threshold', threshold);
  const inSigmas = requireFinite('thresholdSigma', thresholdSigma ?? thresholdedDefaults.thresholdSigma);
  const level = (sigma: number) => threshold ?? inSigmas * sigma;
  return { threshold: level, offset: form === 'subtract' ? level : () => 0 };
}

function preparePassNoise(
  { width, height }: ImageSize,
  form: ThresholdForm = thresholdedDefaults.form,
): NonNullable<MomentWeights['passNoise']> {
  const dense = new Float64Array((width + 2) * (height + 2));
  const used = new Float64Array(dense.length);
  const pixel: PixelMoments = { mean: 0, variance: 0 };
  return (passed: Float64Array, list: PixelList, threshold: number): void => {
    const { count, column, row, value, emptyVariance, left, top } = list;
    // One pixel of margin all round, so that the neighbourhood needs no cases at the border
    const stride = list.right - left + 3;
    const length = stride * (list.bottom - top + 3);
    dense.fill(0, 0, length);
    used.fill(0, 0, length);
    const corner = stride + 1 - left - stride * top;
    for (let k = 0; k < count; k++) {
      dense[corner + stride * row[k] + column[k]] = value[k];
      used[corner + stride * row[k] + column[k]] = 1;
    }
    for (let k = 0; k < count; k++) {
      const here = corner + stride * row[k] + column[k];
      const up = here - stride;
      const down = here + stride;
      const sum = smoothed(dense, here, up, down);
      const number = smoothed(used, here, up, down);
      const mean = sum / number;
      const variance = mean + emptyVariance[k];
      if (variance > 0) {
        thresholdPixel(pixel, mean, Math.sqrt(variance), threshold, form);
        passed[k] = pixel.variance / variance;
      } else passed[k] = value[k] > threshold ? 1 : 0;
    }
  };
}

/** 16 times the binomial mean [1 2 1] x [1 2 1] around a place. */
function smoothed(values: Float64Array, here: number, up: number, down: number): number {
  return (
    values[up - 1] +
    values[up + 1] +
    values[down - 1] +
    values[down + 1] +
    2 * (values[up] + values[down] + values[here - 1] + values[here + 1]) +
    4 * values[here]
  );
}
