/** Find the stars of a frame, points and rings alike, without knowing their size. */

import {
  medianOf,
  type NamesOf,
  requireInteger,
  requireLimit,
  requireNames,
  requirePositive,
  requireValid,
  sigmaPerMedianDeviation,
} from '@holdfast/psf/numerics';
import type { Image } from '../pixels/centroid.ts';
import { sizeOf } from '../pixels/image-view.ts';
import { copyPixels } from '../pixels/valid-pixels.ts';
import { fillHotPixels } from './hot-pixels.ts';
import {
  eraseLight,
  highestWithin,
  type LightExtent,
  measureExtent,
  shareAtOrAbove,
} from './light-extent.ts';
import { type Candidate, prepareContrasts } from './star-scales.ts';

/** How stars are looked for. */
export interface LocateStarOptions {
  /** 1 = use the pixel, 0 = do not; row-major, width * height. Non-finite pixels are never used. */
  readonly valid?: Uint8Array;
  /** Least contrast of a star over its noise. Default 6: below 5, noise alone gives false stars in a large frame. */
  readonly minSnr?: number;
  /** Largest light diameter looked for, px. Default 80. */
  readonly maxDiameterPx?: number;
  /** Most stars returned, the ones that stand out most. Default 50. */
  readonly maxStars?: number;
  /** Pixels at or above this value count as saturated. Default: none. */
  readonly saturationE?: number;
}

const optionNames: NamesOf<LocateStarOptions> = {
  valid: true,
  minSnr: true,
  maxDiameterPx: true,
  maxStars: true,
  saturationE: true,
};

export const locateStarDefaults = { minSnr: 6, maxDiameterPx: 80, maxStars: 50 } as const;

/** A light larger than this times maxDiameterPx is no star: a halo, a cloud, a fault of the flat field. */
const sizeTolerance = 1.25;

/** A star as the search sees it: good for choosing one and for placing its window; measure it with an estimator. */
export interface FoundStar {
  /** Centre of mass of its light, px. */
  readonly x: number;
  /** Row, px. */
  readonly y: number;
  /** Diameter of the circle about it that holds 90 % of its light, px: 0.95 to 0.97 of a ring's outer diameter. */
  readonly diameterPx: number;
  /** Diameter of the circle that holds half of its light, px: the FWHM of a Gaussian. */
  readonly halfFluxDiameterPx: number;
  /** Electrons above the local level. */
  readonly flux: number;
  /** Flux over its error from photons and the noise of the pixels within the light diameter. */
  readonly snr: number;
  /** Highest pixel above the local level, electrons; hot pixels apart. */
  readonly peak: number;
  /** Local level, electrons per pixel. */
  readonly backgroundE: number;
  /** Share of the pixels within the light diameter that are saturated. */
  readonly saturatedFraction: number;
  /** Distance to the next star of the list, px; absent when it is alone. */
  readonly neighbourDistancePx?: number;
}

/** Candidates come back after a neighbour was taken out if they lost no more than this. */
const sameSignificance = 0.95;

/**
 * The stars of a frame, brightest first.
 *
 * Boxes of sides 3 to maxDiameterPx slide over the frame (summed-area tables); the light in each is compared with that
 * around it, in units of its noise. The box that stands out most is a star: its light is followed outward until it ends,
 * measured and taken out, and so on until nothing reaches `minSnr`. Points, rings and comets are found by their whole light,
 * so a faint large ring counts as one star, not as many specks. Not moved by level, slope or single hot pixels; a star of
 * FWHM below about 1 px is taken for a hot pixel. Two stars whose light touches may come out as one.
 *
 * The noise of a pixel is taken from the differences of neighbouring pixels (median absolute deviation).
 *
 * ```ts
 * const [star] = locateStar(frame, { saturationE: 14000 })
 * if (star) gaussianFit(frame, { guess: star, radiusPx: star.diameterPx, background: star.backgroundE })
 * ```
 * @returns at most maxStars stars; none when nothing stands out
 * @throws RangeError or TypeError naming the option that is out of range
 */
export function locateStar(image: Image, options: LocateStarOptions = {}): FoundStar[] {
  requireNames('options', options, optionNames);
  const size = sizeOf(image);
  const { width, height } = size;
  if (options.valid !== undefined) requireValid(options.valid, width, height);
  const minSnr = requirePositive('minSnr', options.minSnr ?? locateStarDefaults.minSnr);
  const maxDiameterPx = requirePositive(
    'maxDiameterPx',
    options.maxDiameterPx ?? locateStarDefaults.maxDiameterPx,
  );
  const maxStars = requireInteger('maxStars', options.maxStars ?? locateStarDefaults.maxStars, 1, 1e6);
  const saturationE = requireLimit('saturationE', options.saturationE ?? Infinity);

  const scratch = borrowScratch(width, height);
  const pixels = copyPixels(image, size, options.valid, scratch.pixels);
  const sigma = pixelSigma(pixels, width);
  if (!(sigma > 0)) return [];
  fillHotPixels(pixels, width, height, sigma);
  const raw = saturationE < Infinity ? pixels.slice() : pixels;

  const contrasts = prepareContrasts(pixels, width, height, sigma, scratch.table);
  const queue = new CandidateQueue(contrasts.candidates(minSnr, maxDiameterPx));
  const largestRadius = sizeTolerance * maxDiameterPx;
  const found: MeasuredLight[] = [];
  for (let best = queue.pop(); best !== undefined && found.length < maxStars; best = queue.pop()) {
    const significance = contrasts.contrastNow(best);
    if (significance < minSnr) continue;
    if (significance < sameSignificance * best.significance) {
      queue.push({ ...best, significance });
      continue;
    }
    const start = 0.75 * best.side + 2;
    const extent = measureExtent(
      pixels,
      width,
      height,
      best.x,
      best.y,
      start,
      Math.min(start + 0.85 * best.side, largestRadius),
      sigma,
    );
    if (extent === undefined || 2 * extent.lightRadius > sizeTolerance * maxDiameterPx) {
      contrasts.takeOut(eraseLight(pixels, width, height, best.x, best.y, best.side / 2, sigma));
      continue;
    }
    const { lightRadius, level } = extent;
    found.push({
      extent,
      peak: highestWithin(pixels, width, height, extent, lightRadius) - level,
      saturatedFraction:
        saturationE < Infinity ? shareAtOrAbove(raw, width, height, extent, lightRadius, saturationE) : 0,
    });
    contrasts.takeOut(eraseLight(pixels, width, height, extent.x, extent.y, extent.radius, sigma));
  }
  return found.map((star) => describe(star, found, sigma)).sort((a, b) => b.flux - a.flux);
}

interface Scratch {
  readonly width: number;
  readonly height: number;
  readonly pixels: Float64Array;
  /** Summed-area table. */
  readonly table: Float64Array;
}

let kept: WeakRef<Scratch> | undefined;

/**
 * Arrays for a frame: those of the last call if it had this size and memory was not needed elsewhere. To get 50 MB anew for each
 * frame of a camera took a tenth of the time.
 */
function borrowScratch(width: number, height: number): Scratch {
  const last = kept?.deref();
  if (last?.width === width && last.height === height) return last;
  const made = {
    width,
    height,
    pixels: new Float64Array(width * height),
    table: new Float64Array((width + 1) * (height + 1)),
  };
  kept = new WeakRef(made);
  return made;
}

interface MeasuredLight {
  readonly extent: LightExtent;
  readonly peak: number;
  readonly saturatedFraction: number;
}

function describe(
  { extent, peak, saturatedFraction }: MeasuredLight,
  all: readonly MeasuredLight[],
  sigma: number,
): FoundStar {
  const { x, y, flux, level, lightRadius, halfRadius } = extent;
  let neighbourDistancePx = Infinity;
  for (const { extent: other } of all)
    if (other !== extent) {
      const distance = Math.sqrt((other.x - x) ** 2 + (other.y - y) ** 2);
      neighbourDistancePx = Math.min(neighbourDistancePx, distance);
    }
  return {
    x,
    y,
    diameterPx: 2 * lightRadius,
    halfFluxDiameterPx: 2 * halfRadius,
    flux,
    snr: flux / Math.sqrt(flux + Math.PI * Math.max(1, lightRadius) ** 2 * sigma * sigma),
    peak,
    backgroundE: level,
    saturatedFraction,
    ...(neighbourDistancePx < Infinity ? { neighbourDistancePx } : {}),
  };
}

/** Differences of neighbours looked at for the noise: enough for 0.3 %. */
const noiseSamples = 2 ** 18;

/** Rms noise of a pixel from the differences of neighbours in a row; 0 when all are alike. */
function pixelSigma(pixels: Float64Array, width: number): number {
  const step = Math.max(1, Math.floor(pixels.length / noiseSamples));
  const differences = new Float64Array(Math.ceil(pixels.length / step));
  let count = 0;
  let squares = 0;
  for (let k = 0; k < pixels.length - 1; k += step) {
    if (k % width === width - 1) continue;
    const d = Math.abs(pixels[k + 1] - pixels[k]);
    if (!Number.isFinite(d)) continue;
    differences[count++] = d;
    squares += d * d;
  }
  if (count === 0) return 0;
  const deviation = sigmaPerMedianDeviation * medianOf(differences, count);
  // More than half alike (no noise, or whole numbers): the rms is all there is
  return (deviation > 0 ? deviation : Math.sqrt(squares / count)) * Math.SQRT1_2;
}

/** The candidate of highest significance first: a binary heap. */
class CandidateQueue {
  readonly #heap: Candidate[] = [];

  constructor(candidates: readonly Candidate[]) {
    for (const candidate of candidates) this.push(candidate);
  }

  push(candidate: Candidate): void {
    const heap = this.#heap;
    let i = heap.length;
    heap.push(candidate);
    for (let up = (i - 1) >> 1; i > 0 && heap[up].significance < candidate.significance; up = (i - 1) >> 1) {
      heap[i] = heap[up];
      i = up;
    }
    heap[i] = candidate;
  }

  pop(): Candidate | undefined {
    const heap = this.#heap;
    const top = heap[0];
    const last = heap.pop();
    if (last === undefined || heap.length === 0) return top;
    let i = 0;
    for (;;) {
      let child = 2 * i + 1;
      if (child >= heap.length) break;
      if (child + 1 < heap.length && heap[child + 1].significance > heap[child].significance) child++;
      if (heap[child].significance <= last.significance) break;
      heap[i] = heap[child];
      i = child;
    }
    heap[i] = last;
    return top;
  }
}
