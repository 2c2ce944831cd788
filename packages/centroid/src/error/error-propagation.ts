/** What to expect of a plain or thresholded centre of mass before any frame is taken, from the expected image and its noise. */

import { requireNonNegative } from '@holdfast/psf/numerics';
import { sumFollow } from '../moments/moments.ts';
import { type PixelMoments, type ThresholdForm, thresholdPixel } from '../moments/threshold-noise.ts';
import { thresholdedDefaults, thresholdWeights } from '../moments/thresholded.ts';
import type { Moments } from '../pixels/aperture-sums.ts';
import type { Image, NotLocated, Position } from '../pixels/centroid.ts';
import { notLocated } from '../pixels/centroid.ts';
import { requirePosition, resolveBackground, resolveOptions } from '../pixels/estimator-options.ts';
import { sizeOf } from '../pixels/image-view.ts';
import { type Follow, recentringGain, resolveRecentre, settledPx } from '../pixels/recentring.ts';
import { createPixelList, listPixels, type PixelList } from '../pixels/valid-pixels.ts';
import type { FrameNoise } from './position-bound.ts';

/** How the star will be measured. */
export interface PredictErrorOptions {
  /** Which center of mass. */
  readonly estimator: 'centerOfMass' | 'thresholdedCenterOfMass';
  /** Where the star truly is, px: the bias counts from here, and the aperture starts here unless `guess` is given. */
  readonly at: Position;
  /** Noise of the frame. */
  readonly noise: FrameNoise;
  /** As for the estimators. The background counts as subtracted, with this error. */
  readonly backgroundSigma?: number;
  /** Where the aperture is laid first, px. Default: `at`. */
  readonly guess?: Position;
  /** Radius of the aperture, px, > 0. Default: the whole image. */
  readonly radiusPx?: number;
  /** How often the aperture is laid anew on the position found. Default as the estimator's. */
  readonly recentre?: number;
  /** Which pixels are used, row-major; 1 = used. Default all. */
  readonly valid?: Uint8Array;
  /** Of the thresholded centre of mass, as there. */
  readonly threshold?: number;
  /** Threshold in sigmas of an empty pixel, instead of `threshold`. Default 2. */
  readonly thresholdSigma?: number;
  /** What the pixels above the threshold weigh. Default 'subtract'. */
  readonly form?: ThresholdForm;
}

/** What to expect of an estimator, px. */
export interface PredictedError {
  readonly ok: true;
  /** Mean measured position minus the true one, px. */
  readonly biasX: number;
  /** The same along y, px. */
  readonly biasY: number;
  /** 1 sigma scatter of the measured position, px. */
  readonly sigmaX: number;
  /** The same along y, px. */
  readonly sigmaY: number;
  /** Expected weight sum over its own scatter: below some 5 the prediction, and the estimator, break down. */
  readonly snr: number;
}

/**
 * {@link predictError} of a centre of mass, plain or thresholded.
 *
 * With w the weight of a pixel (its electrons, or what the threshold leaves of them), E w and var w over the noise:
 *
 *   x = sum(column E w) / sum(E w),   sigmaX^2 = sum((column - x)^2 var w) / sum(E w)^2
 *   bias = x - true x - sum((column - x) var w) / sum(E w)^2
 *
 * The first part of the bias is that of window, threshold and pixel phase; the second comes from dividing by a noisy sum
 * and counts when the star is faint and off the middle of its window. Noise is taken as normal: a pixel of mean m varies by
 * m + backgroundE + readNoiseE^2. Errors of the background level and of an aperture that follows the star are added as in
 * `centerOfMass`.
 *
 * @param expected  the star's own expected electrons per pixel, without background
 * @returns bias and scatter; or 'too-few-pixels' (fewer than 3), 'no-flux' (nothing expected)
 * @throws RangeError or TypeError naming the option that is out of range
 */
export function predictMomentError(
  expected: Image,
  { estimator, at, noise, ...options }: PredictErrorOptions,
): PredictedError | NotLocated {
  requirePosition('at', at);
  const readNoiseE = requireNonNegative('noise.readNoiseE', noise.readNoiseE);
  const subtractedE = requireNonNegative('noise.backgroundE', noise.backgroundE ?? 0);
  const recentre = resolveRecentre(options);
  const size = sizeOf(expected);
  const pixelNoise = { readNoiseE, subtractedE };
  const { threshold, thresholdSigma, form = thresholdedDefaults.form, ...shared } = options;
  const resolved = resolveOptions(size, { ...shared, noise: pixelNoise });
  const background = resolveBackground(0, resolved.backgroundSigma);
  const emptySigma = Math.sqrt(resolved.fixedVariance);
  const limit =
    estimator === 'centerOfMass'
      ? -Infinity
      : thresholdWeights({
          form,
          noise: pixelNoise,
          ...(threshold === undefined ? {} : { threshold }),
          ...(thresholdSigma === undefined ? {} : { thresholdSigma }),
        }).threshold(emptySigma);

  const { radiusPx } = resolved;
  const list = createPixelList(size);
  const weights: WeightMoments = {
    mean: new Float64Array(list.value.length),
    variance: new Float64Array(list.value.length),
  };
  const moments: Moments = { total: 0, size: 0, light: 0, x: 0, y: 0, count: 0 };
  let { x, y } = resolved.guess ?? at;
  let centreX = x;
  let centreY = y;
  for (let pass = 0; ; pass++) {
    centreX = x;
    centreY = y;
    listPixels(list, expected, resolved, background, centreX, centreY);
    if (list.count < 3) return notLocated('too-few-pixels');
    fillWeights(weights, list, limit, form);
    sumMeans(moments, list, weights.mean);
    if (!(moments.total > 0)) return notLocated('no-flux');
    x = moments.x;
    y = moments.y;
    if (radiusPx === Infinity || pass >= recentre) break;
    if ((x - centreX) ** 2 + (y - centreY) ** 2 < settledPx * settledPx) break;
  }

  const { total } = moments;
  let xx = 0;
  let yy = 0;
  let x1 = 0;
  let y1 = 0;
  let all = 0;
  let shiftX = 0;
  let shiftY = 0;
  for (let k = 0; k < list.count; k++) {
    const dx = list.column[k] - x;
    const dy = list.row[k] - y;
    const v = weights.variance[k];
    xx += dx * dx * v;
    yy += dy * dy * v;
    x1 += dx * v;
    y1 += dy * v;
    all += v;
    if (list.value[k] > limit) {
      shiftX += dx;
      shiftY += dy;
    }
  }
  const gain = { x: 1, y: 1 };
  if (radiusPx < Infinity && recentre > 0) {
    const follow: Follow = { x: 0, y: 0 };
    listPixels(list, expected, { ...resolved, radiusPx: radiusPx + 0.5 }, background, centreX, centreY);
    fillWeights(weights, list, limit, form);
    list.value.set(weights.mean.subarray(0, list.count));
    sumFollow(follow, moments, list, -Infinity, 0, centreX, centreY, radiusPx);
    gain.x = recentringGain(follow.x);
    gain.y = recentringGain(follow.y);
  }
  const common = background.sigma / total;
  return {
    ok: true,
    biasX: x - at.x - (gain.x * x1) / (total * total),
    biasY: y - at.y - (gain.y * y1) / (total * total),
    sigmaX: gain.x * Math.sqrt(xx / (total * total) + (shiftX * common) ** 2),
    sigmaY: gain.y * Math.sqrt(yy / (total * total) + (shiftY * common) ** 2),
    snr: total / Math.sqrt(all),
  };
}

interface WeightMoments {
  readonly mean: Float64Array;
  readonly variance: Float64Array;
}

function fillWeights(out: WeightMoments, list: PixelList, threshold: number, form: ThresholdForm): void {
  const { count, value, emptyVariance } = list;
  const pixel: PixelMoments = { mean: 0, variance: 0 };
  for (let k = 0; k < count; k++) {
    const variance = Math.max(0, value[k] + emptyVariance[k]);
    if (threshold === -Infinity) {
      out.mean[k] = value[k];
      out.variance[k] = variance;
    } else {
      thresholdPixel(pixel, value[k], Math.sqrt(variance), threshold, form);
      out.mean[k] = pixel.mean;
      out.variance[k] = pixel.variance;
    }
  }
}

function sumMeans(out: Moments, { count, column, row }: PixelList, mean: Float64Array): void {
  let total = 0;
  let sumX = 0;
  let sumY = 0;
  for (let k = 0; k < count; k++) {
    total += mean[k];
    sumX += mean[k] * column[k];
    sumY += mean[k] * row[k];
  }
  out.total = total;
  out.x = sumX / total;
  out.y = sumY / total;
}
