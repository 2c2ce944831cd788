/** One star in a window that follows it from frame to frame: what a guiding loop asks of each frame. */
import { requireInteger, requireNames, requireOneOf, requirePositive } from '@holdfast/psf/numerics';
import ndarray from 'ndarray';
import { prepareNamed } from '../error/estimators-by-name.ts';
import type { FailureReason, Image, ImageSize, Noise, Position } from '../pixels/centroid.ts';
import { emptyVariance, requirePosition } from '../pixels/estimator-options.ts';
import { type ImageView, viewOf } from '../pixels/image-view.ts';
import { locateStar } from '../search/locate-star.ts';
import { prepareRunningTemplate } from '../template/running-template.ts';
import { lightDiameter, SizeTrend } from './star-size.ts';

const methods = [
  'thresholdedCenterOfMass',
  'centerOfMass',
  'gaussianFit',
  'pointSymmetryCenter',
  'runningTemplate',
] as const;

/** How the star is measured; 'runningTemplate' compares it with the mean of itself in the frames before. */
export type GuideMethod = (typeof methods)[number];

/** The frames, the star and how it is measured. */
export interface GuideStarOptions {
  /** Sides of the frames, px. */
  readonly size: ImageSize;
  /** How the star is measured. Default 'thresholdedCenterOfMass'. */
  readonly method?: GuideMethod;
  /**
   * Side of the square around the star that is measured, px, from 9 to 1024: the ring and some 3 px of sky
   * about it.
   */
  readonly windowPx: number;
  /** Noise of the frames, whose background is still in them. */
  readonly noise: Noise;
  /**
   * Where the star is at first, px. Default: the star of the most light in the first frame that shows one.
   */
  readonly at?: Position;
  /** Pixels at or above this value make the star `saturated`, electrons. Default: none. */
  readonly saturationE?: number;
  /** How far from its last place a lost star is looked for, px, > 0. Default: twice `windowPx`. */
  readonly searchPx?: number;
  /** Frames over which the trend of the size is taken, from 3 to 10000. Default 30. */
  readonly trendFrames?: number;
}

/** What a frame tells. The same object for every frame: copy what is to be kept. */
export interface GuideStarReading {
  /**
   * Whether the star was measured on this frame. If not, position and errors are those of the frame before.
   */
  ok: boolean;
  /** Why not; undefined when it was. */
  reason: FailureReason | 'not-found' | undefined;
  /** Column of the star, px; the middle of the frame until a star was found. */
  x: number;
  /** Row of the star, px. */
  y: number;
  /** Predicted 1 sigma error of x, px; Infinity before the first position. */
  sigmaX: number;
  /** The same along y, px. */
  sigmaY: number;
  /** Light of the star, electrons. */
  flux: number;
  /** Light over its own error. */
  snr: number;
  /**
   * Mean diameter of the star's light above 2 sigma of a pixel, px: 2/3 of the outer diameter of a full disc.
   */
  diameterPx: number;
  /** Change of that diameter per frame, px, over the last frames; 0 until there are three. */
  diameterTrendPx: number;
  /** Its 1 sigma error, px, from the scatter about the line; undefined until there are three. */
  diameterTrendErrorPx: number | undefined;
  /** Frames since the star was measured last; 0 when it was on this one. */
  framesLost: number;
  /** The star had been lost, and was found again on this frame. */
  isFoundAgain: boolean;
}

/** A star that is followed. It keeps its own scratch: one caller at a time. */
export interface GuideStar {
  /**
   * Measure the star on the next frame. Allocates no array while the star is in its window.
   *
   * @param frame  image of the size of the options, electrons; not modified
   * @throws RangeError or TypeError when the frame has another size
   */
  update(frame: Image | Float64Array): Readonly<GuideStarReading>;
}

/**
 * Least SNR of a star that is followed: above a threshold, noise alone reached 6.3 in 400 empty windows
 * (measured).
 */
const leastSnr = 8;

/** Threshold of the light that counts for the diameter, in sigmas of an empty pixel. */
const diameterSigmas = 2;

/** 1 sigma error of a median over that of a mean, of many normal numbers: sqrt(pi / 2). */
const medianError = 1.2533141373155003;

/**
 * Follow one star from frame to frame.
 *
 * A star counts from an SNR of 8 on. The window is laid on the star's last place, its border gives the
 * background (median), and the method measures the star in it. A star that is not measured is looked for with
 * `locateStar` within `searchPx` of its last place; the nearest one takes its part, and its position counts
 * from the frame on which it is found. Positions of 'runningTemplate' are relative: all may be off by the
 * same amount, which a loop takes into its set point.
 *
 * ```ts
 * const star = prepareGuideStar({ size: { width: 640, height: 480 }, windowPx: 33, noise: { readNoiseE: 1.5 } })
 * const { ok, x, y, sigmaX, reason } = star.update(frame)
 * ```
 * @throws RangeError or TypeError naming the option that is out of range
 */
export function prepareGuideStar(options: GuideStarOptions): GuideStar {
  requireNames('options', options, 'size method windowPx noise at saturationE searchPx trendFrames');
  const { noise, at, method = 'thresholdedCenterOfMass', saturationE, trendFrames = 30 } = options;
  const { width, height } = requireNames('size', options.size, 'width height');
  requireInteger('size.width', width, 9, 32768);
  requireInteger('size.height', height, 9, 32768);
  requireOneOf('method', method, methods);
  const side = requireInteger('windowPx', options.windowPx, 9, Math.min(1024, width, height));
  const searchPx = requirePositive('searchPx', options.searchPx ?? 2 * side);
  requireInteger('trendFrames', trendFrames, 3, 10_000);
  if (at !== undefined) requirePosition('at', at);
  const fixedVariance = emptyVariance(noise);

  const stamp = new Float64Array(side * side);
  const border = new Float64Array(4 * side - 4);
  const background = { level: 0, levelSigma: 0 };
  const guess = { x: 0, y: 0 };
  const measure = prepareMethod(method, side, noise, saturationE);
  const trend = new SizeTrend(trendFrames);
  const reading: GuideStarReading = {
    ok: false,
    reason: 'not-found',
    x: at?.x ?? (width - 1) / 2,
    y: at?.y ?? (height - 1) / 2,
    sigmaX: Infinity,
    sigmaY: Infinity,
    flux: 0,
    snr: 0,
    diameterPx: 0,
    diameterTrendPx: 0,
    diameterTrendErrorPx: undefined,
    framesLost: 0,
    isFoundAgain: false,
  };
  let isKnown = at !== undefined;
  let frames = 0;

  /** Measure the star near a place; whether it was found there. */
  const measureAt = (view: ImageView, x: number, y: number): boolean => {
    const left = Math.max(0, Math.min(width - side, Math.round(x) - (side >> 1)));
    const top = Math.max(0, Math.min(height - side, Math.round(y) - (side >> 1)));
    cut(stamp, view, left, top, side);
    background.level = borderMedian(border, stamp, side);
    const variance = Math.max(0, background.level) + fixedVariance;
    background.levelSigma = medianError * Math.sqrt(variance / border.length);
    guess.x = x - left;
    guess.y = y - top;
    const found = measure(stamp, guess, background);
    if (!found.ok) {
      reading.reason = found.reason;
      return false;
    }
    reading.x = left + found.x;
    reading.y = top + found.y;
    reading.sigmaX = found.sigmaX ?? Infinity;
    reading.sigmaY = found.sigmaY ?? Infinity;
    reading.flux = found.flux;
    reading.snr = found.snr ?? 0;
    const threshold = diameterSigmas * Math.sqrt(variance);
    reading.diameterPx = lightDiameter(stamp, side, found.x, found.y, background.level, threshold);
    return true;
  };

  /** Look for the star on the whole frame, and measure the one that is likely to be it. */
  const search = (frame: Image | Float64Array, view: ImageView): boolean => {
    const image = frame instanceof Float64Array ? imageOf(frame, width, height) : frame;
    const stars = locateStar(image, saturationE === undefined ? {} : { saturationE });
    let best: Position | undefined;
    let least = isKnown ? searchPx : Infinity;
    for (const star of stars) {
      if (!isKnown) {
        best ??= star;
        continue;
      }
      const distance = Math.sqrt((star.x - reading.x) ** 2 + (star.y - reading.y) ** 2);
      if (distance > least) continue;
      least = distance;
      best = star;
    }
    return best !== undefined && measureAt(view, best.x, best.y);
  };

  return {
    update(frame) {
      const view = viewOf(frame, { width, height });
      frames++;
      const wasLost = reading.framesLost > 0;
      reading.reason = 'not-found';
      const inPlace = isKnown && measureAt(view, reading.x, reading.y);
      const found = inPlace || search(frame, view);
      reading.ok = found;
      reading.isFoundAgain = found && wasLost;
      reading.framesLost = found ? 0 : reading.framesLost + 1;
      if (found) {
        isKnown = true;
        reading.reason = undefined;
        trend.add(frames, reading.diameterPx);
        reading.diameterTrendPx = trend.slope;
        reading.diameterTrendErrorPx = trend.slopeError < Infinity ? trend.slopeError : undefined;
      }
      return reading;
    },
  };
}

/** What every method gives: the part of a located star that is used here. */
type Measure = (
  stamp: Float64Array,
  guess: Position,
  background: { readonly level: number; readonly levelSigma: number },
) => Found | { readonly ok: false; readonly reason: FailureReason };

interface Found extends Position {
  readonly ok: true;
  readonly flux: number;
  readonly snr?: number;
  readonly sigmaX?: number;
  readonly sigmaY?: number;
}

function prepareMethod(
  method: GuideMethod,
  side: number,
  noise: Noise,
  saturationE: number | undefined,
): Measure {
  const stampSize = { width: side, height: side };
  // The light may reach half-way to the edge from any place to which the star moves within one frame.
  const radiusPx = (side - 1) / 2;
  const options = {
    noise,
    radiusPx,
    minSnr: leastSnr,
    ...(saturationE === undefined ? {} : { saturationE }),
  };
  if (method !== 'runningTemplate')
    return prepareNamed(
      stampSize,
      method === 'gaussianFit' ? { estimator: method, fitBackground: false } : { estimator: method },
      options,
    );
  const running = prepareRunningTemplate(stampSize, {
    ...options,
    radiusPx: (side - 5) / 2,
    searchPx: side / 4,
    fitBackground: false,
  });
  return (stamp, guess, background) => running.measure(stamp, guess, background);
}

/** Copy a square of a frame. */
function cut(out: Float64Array, view: ImageView, left: number, top: number, side: number): void {
  const { data, offset, strideX, strideY } = view;
  for (let row = 0, k = 0; row < side; row++)
    for (let column = 0, at = offset + (top + row) * strideY + left * strideX; column < side; column++, k++) {
      out[k] = data[at];
      at += strideX;
    }
}

/** Median of the outermost pixels of a square; those that are not finite count as 0. */
function borderMedian(border: Float64Array, stamp: Float64Array, side: number): number {
  let n = 0;
  const add = (k: number) => {
    border[n++] = Number.isFinite(stamp[k]) ? stamp[k] : 0;
  };
  for (let k = 0; k < side; k++) {
    add(k);
    add((side - 1) * side + k);
  }
  for (let row = 1; row < side - 1; row++) {
    add(row * side);
    add(row * side + side - 1);
  }
  border.sort();
  return (border[(n - 1) >> 1] + border[n >> 1]) / 2;
}

/** Row-major pixels as an image. */
function imageOf(pixels: Float64Array, width: number, height: number): Image {
  return ndarray(pixels, [height, width]);
}
