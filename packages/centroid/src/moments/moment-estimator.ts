/**
 * The course of every center-of-mass estimator: guess, window, moments, window again, checks, predicted
 * error.
 */

import {
  type Centroid,
  type ImageSize,
  type NotLocated,
  notLocated,
  type PreparedEstimator,
} from '../pixels/centroid.ts';
import { resolveOptions } from '../pixels/estimator-options.ts';
import {
  type Follow,
  type RecenterOptions,
  recenteringGain,
  resolveRecenter,
  settledPx,
} from '../pixels/recentering.ts';
import { StarWindow } from '../pixels/star-window.ts';
import type { PixelList } from '../pixels/valid-pixels.ts';
import { noMomentCut, noWindowSums } from '../pixels/window-sums.ts';
import { largestStepPx, stepFor, sumFollow } from './follow.ts';
import {
  createPixelWeights,
  mostSumVariance,
  noMomentErrors,
  type PixelWeights,
  sumMomentErrors,
  sumMoments,
} from './moments.ts';
import { noPixelMoments, type PixelMoments } from './threshold-noise.ts';

/** Position and flux are three unknowns. */
const leastPixels = 3;

/** So far beyond the window its rim is looked at unless the position is very uncertain, px. */
const usualStepPx = 1;

/** Largest share of the window's area that may lie beyond the edge of the image. */
const maxWindowClipped = 0.1;

/** Below this share of the sum of absolute values, a sum is a cancellation error. */
const cancellation = 1e-12;

/** The weight v - offset where v > threshold, else 0. */
export interface MomentWeights {
  /** Threshold and offset in electrons, given the noise of an empty pixel. */
  threshold(emptyPixelSigma: number): number;
  offset(emptyPixelSigma: number): number;
  /** Fill in what the listed pixels weigh in this frame, with the variance of that over frames. */
  fillWeights(out: PixelWeights, list: PixelList, threshold: number): void;
  /**
   * Fill in the moments of the light that one empty pixel of this noise adds. A star must stand out of the
   * empty pixels' light, which a threshold leaves with a mean. Default: none in the mean.
   */
  readonly emptyLight?: (out: PixelMoments, sigma: number, threshold: number) => void;
}

export function prepareMomentEstimator(
  size: ImageSize,
  options: RecenterOptions,
  weights: MomentWeights,
): PreparedEstimator {
  const resolved = resolveOptions(size, options);
  const recenter = resolveRecenter(options);
  const { width, height } = resolved.size;
  const { radiusPx, hasNoise, fixedVariance, predictsError, minSnr } = resolved;
  const hasRadius = radiusPx < Infinity;
  const window = new StarWindow(resolved, leastPixels);
  const { list } = window;
  const sums = noWindowSums();
  const cut = noMomentCut();
  const errors = noMomentErrors();
  const follow: Follow = { x: 0, y: 0 };
  const empty = noPixelMoments();
  const isFollowing = hasRadius && recenter > 0;
  let pixels: PixelWeights | undefined;

  /** The moments of the window about a place, or why the star cannot be measured there. */
  const sum = (x: number, y: number): NotLocated | undefined => {
    cut.centerX = x;
    cut.centerY = y;
    cut.originX = hasRadius ? Math.round(x) : width >> 1;
    cut.originY = hasRadius ? Math.round(y) : height >> 1;
    if (!window.sumMoments(sums, cut)) {
      window.selectPixels(x, y);
      sumMoments(sums, list, cut);
    }
    if (sums.all < leastPixels) return notLocated('too-few-pixels');
    return sums.saturated > 0 ? notLocated('saturated') : undefined;
  };

  /** The weights of the pixels of the window and of a rim about it. */
  const fillWeights = (out: PixelWeights, x: number, y: number, threshold: number, rimPx: number): void => {
    window.selectPixels(x, y, radiusPx + rimPx);
    weights.fillWeights(out, list, threshold);
  };

  return (image, guess, givenBackground): Centroid => {
    const lost = window.begin(image, guess, givenBackground);
    if (lost !== undefined) return lost;
    const { background } = window;
    const emptySigma = Math.sqrt(Math.max(0, background.level) + fixedVariance);
    const threshold = weights.threshold(emptySigma);
    cut.threshold = threshold;
    cut.offset = weights.offset(emptySigma);

    let x = window.startX;
    let y = window.startY;
    let centerX = x;
    let centerY = y;
    let iterations = 0;
    for (;;) {
      centerX = x;
      centerY = y;
      iterations++;
      const refusal = sum(centerX, centerY);
      if (refusal !== undefined) return refusal;
      if (!(sums.total > cancellation * sums.size && sums.light > 0)) return notLocated('no-flux');
      x = sums.x;
      y = sums.y;
      if (!window.holds(x, y)) return notLocated('outside');
      if (!hasRadius || iterations > recenter) break;
      if ((x - centerX) ** 2 + (y - centerY) ** 2 < settledPx * settledPx) break;
    }
    if (hasRadius && clippedFraction(x, y, radiusPx, width, height) > maxWindowClipped)
      return notLocated('clipped');
    if (!hasNoise) return { ok: true, x, y, flux: sums.light, iterations };

    const common = background.sigma;
    weights.emptyLight?.(empty, emptySigma, threshold);
    const variance = Math.max(sums.varianceLight, sums.all * empty.variance);
    const snr =
      (sums.light - sums.all * empty.mean) / Math.sqrt(variance + sums.count * sums.count * common * common);
    if (!(snr >= minSnr)) return notLocated('too-faint');
    if (!predictsError) return { ok: true, x, y, flux: sums.light, snr, iterations };

    pixels ??= createPixelWeights(width * height);
    const place = { centerX, centerY, radiusPx };
    fillWeights(pixels, centerX, centerY, threshold, isFollowing ? usualStepPx : 0);
    sumMomentErrors(errors, sums, list, pixels, place);
    if (isFollowing) {
      if (stepFor(Math.max(errors.varianceX, errors.varianceY)) > usualStepPx)
        fillWeights(pixels, centerX, centerY, threshold, largestStepPx);
      sumFollow(follow, sums, errors, list, pixels, place, false);
    }
    // A window comes to rest the more often the more light T a frame has (the formula of Kac and Rice):
    // squared errors over those stated by T are as mean T^3 / mean T.
    const growth = isFollowing ? 1 + 3 * Math.min(mostSumVariance, errors.total) : 1;
    const gainX = recenteringGain(follow.x);
    const gainY = recenteringGain(follow.y);
    const sigmaX = gainX * Math.sqrt(growth * errors.varianceX + (errors.perBackgroundX * common) ** 2);
    const sigmaY = gainY * Math.sqrt(growth * errors.varianceY + (errors.perBackgroundY * common) ** 2);
    return { ok: true, x, y, flux: sums.light, sigmaX, sigmaY, snr, iterations };
  };
}

/** Share of the pixels of a window that lie beyond the image. */
function clippedFraction(
  centerX: number,
  centerY: number,
  radiusPx: number,
  width: number,
  height: number,
): number {
  if (
    centerX - radiusPx > -1 &&
    centerX + radiusPx < width &&
    centerY - radiusPx > -1 &&
    centerY + radiusPx < height
  )
    return 0;
  let all = 0;
  let inside = 0;
  for (let y = Math.ceil(centerY - radiusPx); y <= centerY + radiusPx; y++) {
    const halfChord = Math.sqrt(Math.max(0, radiusPx * radiusPx - (y - centerY) ** 2));
    const from = Math.ceil(centerX - halfChord);
    const to = Math.floor(centerX + halfChord);
    all += Math.max(0, to - from + 1);
    if (y >= 0 && y < height) inside += Math.max(0, Math.min(to, width - 1) - Math.max(from, 0) + 1);
  }
  return 1 - inside / all;
}
