/** The light between the stars: its level, its slope and the noise of a pixel, from the image itself. */

import {
  invertSymmetric,
  medianOf,
  normalInto,
  requireBoolean,
  requireFinite,
  requireInteger,
  requireNames,
  requireOneOf,
  requirePositive,
  sigmaPerMedianDeviation,
} from '@holdfast/psf/numerics';
import type { BackgroundLevel, Image } from './centroid.ts';
import { levelAt, resolveBackground } from './estimator-options.ts';
import { type LightView, lightAt, lightView } from './image-view.ts';

/** How the background is estimated. */
export interface BackgroundOptions {
  /** 1 = use the pixel, 0 = do not; row-major, width * height. Non-finite pixels are never used. */
  readonly valid?: Uint8Array;
  /**
   * 'frame': every pixel. 'border': only those within `borderPx` of an edge, for a stamp that a star fills.
   * Default 'frame'.
   */
  readonly region?: 'frame' | 'border';
  /** Width of the border, px. Default 3. */
  readonly borderPx?: number;
  /** Pixels further than this many sigmas from the level are stars or defects. Default 3. */
  readonly clipSigma?: number;
  /** What of the pixels kept is called their level. Default 'mean'. */
  readonly center?: BackgroundCenter;
  /** Fit a plane instead of a constant; with 'mean' only. Default false. */
  readonly plane?: boolean;
}

/** What the level is taken from the pixels by. */
export type BackgroundCenter =
  /**
   * least noise; what a sum over pixels needs, as photons add up to the mean. Stars' wings below the clip
   * raise it.
   */
  | 'mean'
  /** 1.25 times the noise; wings raise it less, but on whole numbers it moves in steps of one. */
  | 'median'
  /**
   * 2.5 median - 1.5 mean, which wings hardly raise. 2.14 times the noise, and biased on photon noise, whose
   * median lies below its mean: by up to -0.4 electrons per pixel at any level, less beside much read noise.
   */
  | 'mode';

const backgroundDefaults = {
  region: 'frame',
  borderPx: 3,
  clipSigma: 3,
  center: 'mean',
  plane: false,
} as const;

/** Level, noise and slope of the background; serves as `background` of every estimator. */
export interface Background extends Required<BackgroundLevel> {
  readonly ok: true;
  /** Noise of a single pixel of background, electrons rms. */
  readonly sigma: number;
  /** Pixels that the level rests on. */
  readonly pixelsUsed: number;
}

/** Why there is no background. */
export interface NoBackground {
  readonly ok: false;
  readonly reason: 'too-few-pixels';
}

/**
 * Error of each center over that of the mean, for normal noise. Those of the mode follow from var(median) =
 * pi / 2.
 */
const noiseOfCenter = {
  mean: 1,
  median: Math.sqrt(Math.PI / 2),
  mode: Math.sqrt(6.25 * (Math.PI / 2) - 5.25),
} as const;

const maxClippings = 30;

/**
 * Level and noise of the background by iterated clipping.
 *
 * It starts from the median and the median absolute deviation, which stars over less than half of the pixels
 * hardly move; then pixels beyond clipSigma * sigma are left out and center and sigma are taken anew, until
 * none goes or comes. The sigma of what is left is enlarged by what a normal distribution loses beyond the
 * clip (1.4 % at 3 sigma). With `plane` the residuals of a fitted plane are clipped.
 *
 * Uncertainty: levelSigma = sigma * factor / sqrt(pixelsUsed), factor 1, 1.25, 2.14 for 'mean', 'median',
 * 'mode'. It knows nothing of light that is not noise. Clipping the skewed noise of photons lowers the mean
 * by some 0.04 electrons (0.07 of 0.3 electrons per pixel without read noise: give a larger clipSigma there).
 * Beyond a million pixels a regular choice of about so many is used.
 *
 * ```ts
 * const background = estimateBackground(frame, { plane: true })
 * if (background.ok) gaussianFit(stamp, { background })   // where stamp and frame share their coordinates
 * ```
 * @returns level at (x0, y0), the mean place of the pixels used, where level and slopes are uncorrelated; or
 *          'too-few-pixels' (none usable, or with `plane` too few to fix one)
 * @throws RangeError or TypeError naming the option that is out of range
 */
export function estimateBackground(image: Image, options: BackgroundOptions = {}): Background | NoBackground {
  requireNames('options', options, 'valid region borderPx clipSigma center plane');
  const region = requireOneOf('region', options.region ?? backgroundDefaults.region, [
    'frame',
    'border',
  ] as const);
  const borderPx = requireInteger('borderPx', options.borderPx ?? backgroundDefaults.borderPx, 1, 32768);
  const clipSigma = requirePositive('clipSigma', options.clipSigma ?? backgroundDefaults.clipSigma);
  const center = requireOneOf('center', options.center ?? backgroundDefaults.center, [
    'mean',
    'median',
    'mode',
  ] as const);
  const plane = requireBoolean('plane', options.plane ?? backgroundDefaults.plane);
  if (plane && center !== 'mean') throw new TypeError(`plane needs center 'mean', got '${center}'`);

  const border = region === 'border' ? borderPx : Infinity;
  const sample = collect(lightView(image, options.valid), border);
  if (sample.count < (plane ? 4 : 1)) return { ok: false, reason: 'too-few-pixels' };
  const model = clip(sample, clipSigma, plane);
  if (model === undefined) return { ok: false, reason: 'too-few-pixels' };
  const { kept, sigma } = model;
  let { level } = model;
  if (center !== 'mean') {
    const median = medianOf(kept.value, kept.count);
    level = center === 'median' ? median : 2.5 * median - 1.5 * level;
  }
  return {
    ok: true,
    level,
    levelSigma: (sigma * noiseOfCenter[center]) / Math.sqrt(kept.count),
    sigma,
    slopeX: model.slopeX,
    slopeY: model.slopeY,
    x0: model.x0,
    y0: model.y0,
    pixelsUsed: kept.count,
  };
}

/** Background electrons per pixel at a place. */
export function backgroundAt(background: BackgroundLevel, x: number, y: number): number {
  return levelAt(resolveBackground(background, 0), requireFinite('x', x), requireFinite('y', y));
}

interface Sample {
  count: number;
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly value: Float64Array;
}

/** The usable pixels, or those of them within `border` of an edge; of very many, a regular choice. */
function collect(view: LightView, border: number): Sample {
  const { width, height } = view;
  const pixels = width * height;
  const step = sampleStep(pixels, width);
  const capacity = Math.ceil(pixels / step);
  const sample: Sample = {
    count: 0,
    x: new Float64Array(capacity),
    y: new Float64Array(capacity),
    value: new Float64Array(capacity),
  };
  let count = 0;
  for (let k = 0; k < pixels; k += step) {
    const y = Math.floor(k / width);
    const x = k - y * width;
    const v = lightAt(view, x, y);
    if (!Number.isFinite(v)) continue;
    if (x >= border && y >= border && x < width - border && y < height - border) continue;
    sample.x[count] = x;
    sample.y[count] = y;
    sample.value[count] = v;
    count++;
  }
  sample.count = count;
  return sample;
}

/** Every how many-th pixel to take: at most about a million, and not one column over and over. */
function sampleStep(pixels: number, width: number): number {
  let step = Math.ceil(pixels / 2 ** 20);
  while (step > 1 && (width % step === 0 || step % 2 === 0)) step++;
  return step;
}

interface Model {
  readonly level: number;
  readonly slopeX: number;
  readonly slopeY: number;
  readonly x0: number;
  readonly y0: number;
  readonly sigma: number;
  /** The pixels kept, in no order. */
  readonly kept: Sample;
}

function clip(sample: Sample, clipSigma: number, plane: boolean): Model | undefined {
  const { x, y, value } = sample;
  const all = sample.count;
  const scratch = value.slice(0, all);
  const median = medianOf(scratch, all);
  for (let k = 0; k < all; k++) scratch[k] = Math.abs(value[k] - median);
  const start = {
    level: median,
    slopeX: 0,
    slopeY: 0,
    x0: 0,
    y0: 0,
    sigma: sigmaPerMedianDeviation * medianOf(scratch, all),
  };
  // More than half of the pixels alike (few photons, whole numbers): the deviation says nothing, the rms has
  // to start.
  if (start.sigma === 0) {
    let sum = 0;
    for (let k = 0; k < all; k++) sum += (value[k] - median) ** 2;
    start.sigma = Math.sqrt(sum / all);
  }
  const kept: Sample = { count: 0, x: new Float64Array(all), y: new Float64Array(all), value: scratch };
  const loss = clippedSigma(clipSigma);
  let model: Model = { ...start, kept };
  let before = -1;
  for (let pass = 0; pass < maxClippings; pass++) {
    const limit = clipSigma * model.sigma;
    const { level, slopeX, slopeY, x0, y0 } = model;
    let count = 0;
    for (let k = 0; k < all; k++) {
      const r = value[k] - (level + slopeX * (x[k] - x0) + slopeY * (y[k] - y0));
      if (!(Math.abs(r) <= limit)) continue;
      kept.x[count] = x[k];
      kept.y[count] = y[k];
      kept.value[count] = value[k];
      count++;
    }
    kept.count = count;
    if (count === before) break;
    before = count;
    const next = fit(kept, plane, loss);
    if (next === undefined) return undefined;
    model = next;
  }
  return model;
}

/** Mean or plane of the pixels kept, and their rms about it. */
function fit(kept: Sample, plane: boolean, loss: number): Model | undefined {
  const { count, x, y, value } = kept;
  const unknowns = plane ? 3 : 1;
  if (count < unknowns) return undefined;
  let x0 = 0;
  let y0 = 0;
  let level = 0;
  for (let k = 0; k < count; k++) {
    x0 += x[k];
    y0 += y[k];
    level += value[k];
  }
  x0 /= count;
  y0 /= count;
  level /= count;
  let slopeX = 0;
  let slopeY = 0;
  if (plane) {
    const products = new Float64Array(4);
    let vx = 0;
    let vy = 0;
    for (let k = 0; k < count; k++) {
      const dx = x[k] - x0;
      const dy = y[k] - y0;
      const dv = value[k] - level;
      products[0] += dx * dx;
      products[1] += dx * dy;
      products[3] += dy * dy;
      vx += dx * dv;
      vy += dy * dv;
    }
    products[2] = products[1];
    const inverse = invertSymmetric(products, 2);
    if (inverse === undefined) return undefined;
    slopeX = inverse[0] * vx + inverse[1] * vy;
    slopeY = inverse[2] * vx + inverse[3] * vy;
  }
  let squares = 0;
  for (let k = 0; k < count; k++) {
    const r = value[k] - level - slopeX * (x[k] - x0) - slopeY * (y[k] - y0);
    squares += r * r;
  }
  const sigma = count > unknowns ? Math.sqrt(squares / (count - unknowns)) / loss : 0;
  return { level, slopeX, slopeY, x0, y0, sigma, kept };
}

/** Rms of a unit normal variable that is cut off at +-c:  sqrt(1 - 2 c p(c) / P(|z| < c)). */
function clippedSigma(c: number): number {
  const normal = new Float64Array(2);
  normalInto(normal, c);
  return Math.sqrt(1 - (c * normal[1]) / normal[0]);
}
