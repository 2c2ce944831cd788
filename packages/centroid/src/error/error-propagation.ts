/**
 * What to expect of a plain or thresholded center of mass before any frame is taken, from the expected image
 * and its noise.
 */

import { normalInto, requireNames, requireOneOf } from '@holdfast/psf/numerics';
import { largestStepPx, sumFollow } from '../moments/follow.ts';
import {
  createPixelWeights,
  mostSumVariance,
  noMomentErrors,
  type PixelWeights,
  sumMomentErrors,
} from '../moments/moments.ts';
import {
  emptySkewness,
  noPixelMoments,
  type PixelMoments,
  type ThresholdForm,
  thresholdPixel,
} from '../moments/threshold-noise.ts';
import { prepareThreshold, thresholdedDefaults } from '../moments/thresholded.ts';
import { type FailureReason, type Image, type Noise, notLocated, type Position } from '../pixels/centroid.ts';
import { requirePosition, resolveBackground, resolveOptions } from '../pixels/estimator-options.ts';
import { sizeOf } from '../pixels/image-view.ts';
import { type Follow, recenteringGain, resolveRecenter, settledPx } from '../pixels/recentering.ts';
import { createPixelList, listPixels, type PixelList } from '../pixels/valid-pixels.ts';
import type { Moments } from '../pixels/window-sums.ts';

/** How the star will be measured. */
export interface PredictErrorOptions {
  /** Which center of mass. */
  readonly estimator: 'centerOfMass' | 'thresholdedCenterOfMass';
  /**
   * Where the star truly is, px: the bias counts from here, and the window starts here unless `guess` is
   * given.
   */
  readonly at: Position;
  /** Noise of the frame. */
  readonly noise: Noise;
  /** As for the estimators. The background counts as subtracted, with this error. */
  readonly backgroundSigma?: number;
  /** Where the window is laid first, px. Default: `at`. */
  readonly guess?: Position;
  /** Radius of the window, px, > 0. Default: the whole image. */
  readonly radiusPx?: number;
  /** How often the window is laid anew on the position found. Default as the estimator's. */
  readonly recenter?: number;
  /** Which pixels are used, row-major; 1 = used. Default all. */
  readonly valid?: Uint8Array;
  /** As for the estimators: fainter stars give no position. Default 3. */
  readonly minSnr?: number;
  /** Of the thresholded center of mass, as there. */
  readonly threshold?: number;
  /** Threshold in sigmas of an empty pixel, instead of `threshold`. Default 3. */
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
  /** Expected weight sum over its own scatter. */
  readonly snr: number;
}

/** Why there is no prediction. */
export interface NotPredicted {
  readonly ok: false;
  /** The estimator's own failure on the expected image, or where the theory ends. */
  readonly reason:
    | FailureReason
    /** more than a tenth of the frames give no position */
    | 'often-lost'
    /** the position is so uncertain that the theory does not hold */
    | 'too-uncertain';
}

/** Largest share of frames without a position at which the others are predicted. */
const mostLost = 0.1;

/**
 * {@link predictError} of a center of mass, plain or thresholded.
 *
 * With w the weight of a pixel (its electrons, or what the threshold leaves of them), T = sum(w), N =
 * sum((column - x) w) and the moments of w over the noise:
 *
 *   x = sum(column E w) / E T sigmaX^2 E T^2 = var N (1 + 3 var T / E T^2) - 2 sum((column - x)^2 third w) /
 *   E T + 5 (cov(N, T) / E T)^2 bias = x - true x - cov(N, T) / E T^2
 *
 * The first part of the bias is that of window, threshold and pixel phase; the second comes from dividing by
 * a noisy sum and counts when the star is faint and off the middle of its window. All to second order in the
 * noise of the sums (derived: the expansion of N / T). A pixel of mean m varies by m + backgroundE +
 * readNoiseE^2, with the skewness of its photons. Errors of the background level and of a window that
 * follows the star are added as in \`centerOfMass\`; a window off the star by its own error has longer
 * levers on one side, which adds the share sum(var w of empty pixels) / E T^2 of the variance. (Measured:
 * within 8 % on rings of 0 to 40 px at SNR 8 to 100 above 2 sigma in a fixed window, within 10 % in an
 * window that follows.)
 *
 * @param expected  the star's own expected electrons per pixel, without background
 * @returns bias and scatter; or why there is no prediction
 * @throws RangeError or TypeError naming the option that is out of range
 */
export function predictMomentError(
  expected: Image,
  allOptions: PredictErrorOptions,
): PredictedError | NotPredicted {
  const { estimator, at, noise, ...options } = requireNames(
    'options',
    allOptions,
    'estimator at noise backgroundSigma guess radiusPx recenter valid threshold',
    'thresholdSigma form minSnr',
  );
  requirePosition('at', at);
  const recenter = resolveRecenter(options);
  const size = sizeOf(expected);
  const { threshold, thresholdSigma, form = thresholdedDefaults.form, ...shared } = options;
  requireOneOf('form', form, ['subtract', 'keep'] as const);
  const resolved = resolveOptions(size, { ...shared, noise });
  const background = resolveBackground(0, resolved.backgroundSigma);
  const emptySigma = Math.sqrt(resolved.fixedVariance);
  const limit =
    estimator === 'centerOfMass'
      ? -Infinity
      : prepareThreshold({
          noise,
          ...(threshold === undefined ? {} : { threshold }),
          ...(thresholdSigma === undefined ? {} : { thresholdSigma }),
        })(emptySigma);

  const cut: Cut = { threshold: limit, form, readVariance: noise.readNoiseE * noise.readNoiseE };
  const { radiusPx } = resolved;
  const isFollowing = radiusPx < Infinity && recenter > 0;
  const list = createPixelList(size);
  const weights: ExpectedWeights = {
    ...createPixelWeights(list.value.length),
    third: new Float64Array(list.value.length),
  };
  const moments: Moments = { total: 0, size: 0, light: 0, x: 0, y: 0, count: 0 };
  let { x, y } = resolved.guess ?? at;
  let centerX = x;
  let centerY = y;
  for (let pass = 0; ; pass++) {
    centerX = x;
    centerY = y;
    listPixels(list, expected, resolved, background, centerX, centerY);
    if (list.count < 3) return notLocated('too-few-pixels');
    fillWeights(weights, list, cut);
    sumMeans(moments, list, weights.weight);
    if (!(moments.total > 0)) return notLocated('no-flux');
    x = moments.x;
    y = moments.y;
    if (!isFollowing || pass >= recenter) break;
    if ((x - centerX) ** 2 + (y - centerY) ** 2 < settledPx * settledPx) break;
  }
  if (lostShare(list, cut, emptySigma, background.sigma, resolved.minSnr) > mostLost)
    return { ok: false, reason: 'often-lost' };

  const { total } = moments;
  const errors = noMomentErrors();
  const window = { centerX, centerY, radiusPx };
  sumMomentErrors(errors, moments, list, weights, window);
  const second = sumSecondOrder(moments, list, weights);
  if (second.sum > mostSumVariance) return { ok: false, reason: 'too-uncertain' };
  const gain = { x: 1, y: 1 };
  let lever = 0;
  if (isFollowing) {
    const empty = noPixelMoments();
    fillWeight(empty, 0, resolved.fixedVariance, cut);
    lever = (list.count * empty.variance) / (total * total);
    const follow: Follow = { x: 0, y: 0 };
    const reach = { ...resolved, radiusPx: radiusPx + largestStepPx };
    listPixels(list, expected, reach, background, centerX, centerY);
    fillWeights(weights, list, cut);
    sumFollow(follow, moments, errors, list, weights, window, true);
    gain.x = recenteringGain(follow.x);
    gain.y = recenteringGain(follow.y);
  }
  const sigma = (own: number, perBackground: number, third: number, pull: number, factor: number): number =>
    factor *
    Math.sqrt(
      (own * (1 + 3 * second.sum) - 2 * third + 5 * pull * pull + (perBackground * background.sigma) ** 2) /
        Math.max(1 - mostLost, 1 - lever * factor * factor),
    );
  return {
    ok: true,
    biasX: x - at.x - gain.x * second.pullX,
    biasY: y - at.y - gain.y * second.pullY,
    sigmaX: sigma(errors.varianceX, errors.perBackgroundX, second.thirdX, second.pullX, gain.x),
    sigmaY: sigma(errors.varianceY, errors.perBackgroundY, second.thirdY, second.pullY, gain.y),
    snr: 1 / Math.sqrt(second.sum),
  };
}

/** How the pixels become weights. */
interface Cut {
  /** Electrons; -Infinity for none. */
  readonly threshold: number;
  readonly form: ThresholdForm;
  readonly readVariance: number;
}

interface ExpectedWeights extends PixelWeights {
  readonly third: Float64Array;
}

/**
 * What a pixel of this mean and variance weighs; all of the variance but that of the read noise is of
 * photons.
 */
function fillWeight(out: PixelMoments, mean: number, variance: number, cut: Cut): void {
  const photons = Math.max(0, variance - cut.readVariance);
  if (cut.threshold > -Infinity) {
    const sigma = Math.sqrt(variance);
    const skewness = sigma > 0 ? photons / (sigma * sigma * sigma) : 0;
    thresholdPixel(out, mean, sigma, skewness, cut.threshold, cut.form);
    return;
  }
  out.mean = mean;
  out.variance = variance;
  out.third = photons;
  out.slope = 1;
}

function fillWeights(out: ExpectedWeights, list: PixelList, cut: Cut): void {
  const { count, value, emptyVariance } = list;
  const pixel = noPixelMoments();
  for (let k = 0; k < count; k++) {
    fillWeight(pixel, value[k], Math.max(0, value[k] + emptyVariance[k]), cut);
    out.weight[k] = pixel.mean;
    out.variance[k] = pixel.variance;
    out.third[k] = pixel.third;
    out.slope[k] = pixel.slope;
  }
}

/**
 * Share of the frames in which the light does not stand out of its noise by \`minSnr\`: the estimator's own
 * test, whose light is taken as normal.
 */
function lostShare(
  list: PixelList,
  { threshold, readVariance }: Cut,
  emptySigma: number,
  levelSigma: number,
  minSnr: number,
): number {
  const { count, value, emptyVariance } = list;
  const pixel = noPixelMoments();
  const empty = noPixelMoments();
  const skewness = emptySkewness(emptySigma, Math.sqrt(readVariance));
  if (threshold > -Infinity && emptySigma > 0)
    thresholdPixel(empty, 0, emptySigma, skewness, threshold, 'keep');
  let light = 0;
  let variance = 0;
  let seen = 0;
  let above = 0;
  for (let k = 0; k < count; k++) {
    const own = Math.max(0, value[k] + emptyVariance[k]);
    fillWeight(pixel, value[k], own, { threshold, readVariance, form: 'keep' });
    light += pixel.mean - empty.mean;
    variance += pixel.variance;
    fillWeight(pixel, value[k], own, { threshold, readVariance, form: 'subtract' });
    seen += pixel.slope * own;
    above += pixel.slope;
  }
  const needed = minSnr * Math.sqrt(Math.max(seen, count * empty.variance) + (above * levelSigma) ** 2);
  const scatter = Math.sqrt(variance + (above * levelSigma) ** 2);
  const normal = new Float64Array(2);
  normalInto(normal, (light - needed) / scatter);
  return 0.5 - normal[0];
}

/** Of the sum of weights T and the moment N about the position, over the square of the mean of T. */
function sumSecondOrder({ x, y, total }: Moments, list: PixelList, weights: ExpectedWeights) {
  const { count, column, row } = list;
  const { variance, third } = weights;
  let sum = 0;
  let pullX = 0;
  let pullY = 0;
  let thirdX = 0;
  let thirdY = 0;
  for (let k = 0; k < count; k++) {
    const dx = column[k] - x;
    const dy = row[k] - y;
    sum += variance[k];
    pullX += dx * variance[k];
    pullY += dy * variance[k];
    thirdX += dx * dx * third[k];
    thirdY += dy * dy * third[k];
  }
  const total2 = total * total;
  const total3 = total2 * total;
  return {
    /** var T */
    sum: sum / total2,
    /** cov(N, T) for x and y, px. */
    pullX: pullX / total2,
    pullY: pullY / total2,
    /** Third moments of the weights by the square of their lever, px^2. */
    thirdX: thirdX / total3,
    thirdY: thirdY / total3,
  };
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
