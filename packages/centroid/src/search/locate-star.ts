/** Find the stars of a frame, points and rings alike, without knowing their size. */

import {
  medianOf,
  requireInteger,
  requireLimit,
  requireNames,
  requirePositive,
  sigmaPerMedianDeviation,
} from '@holdfast/psf/numerics';
import type { Image } from '../pixels/centroid.ts';
import { type LightView, lightView } from '../pixels/image-view.ts';
import { putBack, queueOf } from './candidate-queue.ts';
import { cellMedians, type Surface } from './cell-medians.ts';
import { type CommonShape, commonShape, extentOf, type RejectReason, unlikeOthers } from './common-shape.ts';
import { FrameFaults } from './frame-faults.ts';
import { levelOf, takeLight } from './frame-light.ts';
import { fillHotPixels } from './hot-pixels.ts';
import {
  eraseLight,
  highestWithin,
  type LightExtent,
  measureExtent,
  shareAtOrAbove,
} from './light-extent.ts';
import { measureShape } from './light-shape.ts';
import { levelLines } from './line-defects.ts';
import { exponentialProfile, matchedSignificance } from './star-profile.ts';
import { boxSides, findContrasts } from './star-scales.ts';
import { subtractTrails, type Trail } from './trails.ts';

/** How stars are looked for. */
export interface LocateStarOptions {
  /** 1 = use the pixel, 0 = do not; row-major, width * height. Non-finite pixels are never used. */
  readonly valid?: Uint8Array;
  /**
   * Least contrast of a star over its noise. Default 6: below 5, noise alone gives false stars in a large
   * frame.
   */
  readonly minSnr?: number;
  /** Largest light diameter looked for, px. Default 80. */
  readonly maxDiameterPx?: number;
  /** Most stars returned, the ones that stand out most. Default 50. */
  readonly maxStars?: number;
  /** Pixels at or above this value count as saturated. Default: none. */
  readonly saturationE?: number;
  /**
   * Whether the stars of the frame share their size, as behind one telescope they do. Lights of other size,
   * length or profile are then no stars, bad columns and straight trails are taken off first, and a frame's
   * own structure (clouds, flat field) counts as noise. Default false.
   */
  readonly oneSize?: boolean;
}

const locateStarDefaults = { minSnr: 6, maxDiameterPx: 80, maxStars: 50 } as const;

/** A light larger than this times maxDiameterPx is no star: a halo, a cloud, a fault of the flat field. */
const sizeTolerance = 1.25;

/**
 * A star as the search sees it: good for choosing one and for placing its window; measure it with an
 * estimator.
 */
export interface FoundStar {
  /** Center of mass of its light, px. */
  readonly x: number;
  /** Row, px. */
  readonly y: number;
  /**
   * Diameter of the circle about it that holds 90 % of its light, px: 0.95 to 0.97 of a ring's outer
   * diameter.
   */
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
  readonly neighborDistancePx?: number;
}

/** Candidates come back after a neighbor was taken out if they lost no more than this. */
const sameSignificance = 0.95;

/**
 * The stars of a frame, brightest first.
 *
 * Boxes of sides 3 to maxDiameterPx slide over the frame (summed-area tables); the light in each is compared
 * with that around it, in units of its noise. The box that stands out most is a star: its light is followed
 * outward until it ends, measured and taken out, and so on until nothing reaches `minSnr`. Points, rings and
 * comets are found by their whole light, so a faint large ring counts as one star, not as many specks. Not
 * moved by level, slope or single hot pixels; a star of FWHM below about 1 px is taken for a hot pixel. Two
 * stars whose light touches may come out as one.
 *
 * The noise of a pixel is taken from the differences of neighboring pixels (median absolute deviation).
 *
 * ```ts
 * const [star] = locateStar(frame, { saturationE: 14000 })
 * if (star) gaussianFit(frame, { guess: star, radiusPx: star.diameterPx, background: star.backgroundE })
 * ```
 * @returns at most maxStars stars; none when nothing stands out
 * @throws RangeError or TypeError naming the option that is out of range
 */
export function locateStar(image: Image, options: LocateStarOptions = {}): FoundStar[] {
  return [...searchStars(lightView(image, options?.valid), options).stars];
}

/** What a search found, and what it did not take for a star. */
export interface StarSearch {
  /** Brightest first. */
  readonly stars: readonly FoundStar[];
  /** Lights that stand out but are no stars of this frame; with `oneSize` only. */
  readonly rejected: readonly RejectedLight[];
  readonly trails: readonly Trail[];
  /** Electrons of bad columns, bad rows and trails in each pixel; undefined where there are none. */
  readonly faults: Float32Array | undefined;
}

/** A light that is not taken for a star. */
export interface RejectedLight {
  readonly x: number;
  readonly y: number;
  readonly diameterPx: number;
  readonly reason: RejectReason;
}

/**
 * `locateStar`, with what was rejected.
 *
 * @param onShare  called now and then with the share of the frame that is looked at, 0 to 1
 */
export function searchStars(
  view: LightView,
  options: LocateStarOptions = {},
  onShare?: (share: number) => void,
): StarSearch {
  requireNames('options', options, 'valid minSnr maxDiameterPx maxStars saturationE oneSize');
  const { width, height } = view;
  const minSnr = requirePositive('minSnr', options.minSnr ?? locateStarDefaults.minSnr);
  const maxDiameterPx = requirePositive(
    'maxDiameterPx',
    options.maxDiameterPx ?? locateStarDefaults.maxDiameterPx,
  );
  const maxStars = requireInteger('maxStars', options.maxStars ?? locateStarDefaults.maxStars, 1, 1e6);
  const saturationE = requireLimit('saturationE', options.saturationE ?? Infinity);

  const base = levelOf(view);
  const pixels = takeLight(view, base);
  const sigma = pixelSigma(pixels, width);
  if (!(sigma > 0)) return { stars: [], rejected: [], trails: [], faults: undefined };
  fillHotPixels(pixels, width, height, sigma);
  const oneSize = options.oneSize === true;
  const frameFaults = new FrameFaults(pixels);
  if (oneSize) levelLines(frameFaults, width, height, sigma);
  const trails = oneSize ? subtractTrails(frameFaults, width, height, sigma) : [];
  const faults = frameFaults.taken;
  const common = oneSize
    ? commonShape(pixels, width, height, sigma, minSnr, maxDiameterPx, (share) => onShare?.(share / 2))
    : undefined;
  if (oneSize && common === undefined) return { stars: [], rejected: [], trails, faults };
  const sky =
    common === undefined ? undefined : flatten(pixels, width, height, cellPerStar * common.diameterPx);

  const sides = common === undefined ? boxSides(maxDiameterPx) : sidesAbout(common.diameterPx);
  const least = common === undefined ? minSnr : boxShare * minSnr;
  const contrasts = findContrasts(pixels, width, height, {
    sigma,
    least,
    sides,
    withStructure: oneSize,
    onShare: (share) => onShare?.(oneSize ? (1 + share) / 2 : share),
  });
  const queue = queueOf(contrasts.candidates);
  const largest = common === undefined ? maxDiameterPx : Math.max(...sides);
  const found: MeasuredLight[] = [];
  const rejected: RejectedLight[] = [];
  let structure: ReadonlyMap<number, number> | undefined;
  for (let best = queue.pop(); best !== undefined && found.length < maxStars; best = queue.pop()) {
    const significance = contrasts.contrastNow(best);
    if (significance < least) continue;
    if (significance < sameSignificance * best.significance) {
      putBack(queue, { ...best, significance });
      continue;
    }
    // what follows is fainter; the bright stars, which are no structure, are taken out
    if (common !== undefined && significance < faintBelow * minSnr)
      structure ??= new Map(sides.map((side) => [side, Math.sqrt(contrasts.structure(side) ?? 1)]));
    const reach = structure && largest > largeSide && 0.52 * largest + 2;
    const extent = reach
      ? measureExtent(pixels, width, height, best.x, best.y, reach, reach, sigma)
      : extentOf(pixels, width, height, best, sizeTolerance * largest, sigma);
    if (extent === undefined || 2 * extent.lightRadius > sizeTolerance * largest) {
      if (common !== undefined)
        rejected.push({ x: best.x, y: best.y, diameterPx: best.side, reason: 'larger' });
      contrasts.takeOut(eraseLight(pixels, width, height, best.x, best.y, best.side / 2, sigma));
      continue;
    }
    const { lightRadius, level, x, y } = extent;
    const onTrail = trails.some((trail) => distanceFrom(trail, extent) < trail.halfWidthPx + lightRadius);
    const leastMatched = minSnr * (structure?.get(best.side) ?? 1);
    const reason =
      common && reasonAgainst(pixels, width, height, extent, sigma, leastMatched, common, onTrail);
    if (reason === undefined)
      found.push({
        extent: { ...extent, level: base + level + (sky?.at(x, y) ?? 0) },
        peak: highestWithin(pixels, width, height, extent, lightRadius),
        saturatedFraction:
          saturationE < Infinity ? shareAtOrAbove(view, extent, lightRadius, saturationE) : 0,
      });
    else rejected.push({ x, y, diameterPx: 2 * lightRadius, reason });
    contrasts.takeOut(eraseLight(pixels, width, height, extent.x, extent.y, extent.radius, sigma));
  }
  const stars = found.map((star) => describe(star, found, sigma)).sort((a, b) => b.flux - a.flux);
  return { stars, rejected, trails, faults };
}

const distanceFrom = (trail: Trail, { x, y }: { readonly x: number; readonly y: number }): number =>
  Math.abs((x - trail.x) * trail.sin - (y - trail.y) * trail.cos);

/** Side of the cells whose medians are the background, in diameters of a star; and the least, px. */
const cellPerStar = 3;
const leastCell = 24;

/** Subtract the background as the medians of cells tell it, in place. */
function flatten(pixels: Float32Array, width: number, height: number, cell: number): Surface {
  const sky = cellMedians(pixels, width, height, Math.max(leastCell, cell));
  for (let y = 0; y < height; y++) sky.subtractFrom(pixels, y * width, y);
  return sky;
}

/**
 * Contrasts below this many times the least are judged by the matched filter against the frame's structure,
 * too: by the root of it, since the filter sees less of a slow change than a box does.
 */
const faintBelow = 3;

/**
 * Where stars fill a box of this side, px, the end of a faint one drowns in noise: it is looked at as far as
 * the others reach.
 */
const largeSide = 22;

/** Box sides that hold a star of this diameter more or less, px, odd. */
function sidesAbout(diameterPx: number): number[] {
  const sides = [0.5, 0.7, 0.9, 1.1, 1.35].map((share) => 2 * Math.round((share * diameterPx) / 2) + 1);
  return [...new Set(sides.map((side) => Math.max(3, side)))];
}

/**
 * A light of known shape stands out of noise more than it does in a box: boxes pass it on at this share of
 * `minSnr`.
 */
const boxShare = 0.75;
/** And the matched filter at these: what a trail leaves when it is taken off stands out more than noise. */
const matchedShare = 1.1;
const trailShare = 1.6;
/** Lights of more than this are not asked for their shape by the matched filter. */
const surelyLight = 80;

function reasonAgainst(
  pixels: Float32Array,
  width: number,
  height: number,
  extent: LightExtent,
  sigma: number,
  minSnr: number,
  common: CommonShape,
  onTrail: boolean,
): RejectReason | undefined {
  const snr = snrOf(extent, sigma);
  const reason = unlikeOthers(extent, measureShape(pixels, width, height, extent, sigma), snr, common);
  if (reason !== undefined || snr > surelyLight) return reason;
  const matched = (scale: number): number =>
    matchedSignificance(pixels, width, height, extent, common.profile, sigma, scale);
  const asStar = matched(1);
  if (asStar < (onTrail ? trailShare : matchedShare) * minSnr) return 'shapeless';
  const clearly = asStar + Math.max(3 / asStar, 0.02 * asStar);
  if (Math.max(matched(1.3), matched(1.7)) > clearly) return 'larger';
  if (matched(0.5) > asStar) return 'smaller';
  if (common.concentration < leastOfRing) return undefined;
  const asGalaxy = [0.6, 1, 1.6].map((scale) =>
    matchedSignificance(pixels, width, height, extent, exponentialProfile(common.profile), sigma, scale),
  );
  return Math.max(...asGalaxy) > clearly ? 'other-profile' : undefined;
}

/** A ring's light is less concentrated than this: a star in focus would pass for a galaxy. */
const leastOfRing = 0.65;

const snrOf = ({ flux, lightRadius }: LightExtent, sigma: number): number =>
  flux / Math.sqrt(Math.max(0, flux) + Math.PI * Math.max(1, lightRadius) ** 2 * sigma * sigma);

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
  let square = Infinity;
  for (const { extent: other } of all)
    if (other !== extent) square = Math.min(square, (other.x - x) ** 2 + (other.y - y) ** 2);
  return {
    x,
    y,
    diameterPx: 2 * lightRadius,
    halfFluxDiameterPx: 2 * halfRadius,
    flux,
    snr: snrOf(extent, sigma),
    peak,
    backgroundE: level,
    saturatedFraction,
    ...(square < Infinity ? { neighborDistancePx: Math.sqrt(square) } : {}),
  };
}

/** Differences of neighbors looked at for the noise: enough for 0.3 %. */
const noiseSamples = 2 ** 18;

/** Rms noise of a pixel from the differences of neighbors in a row; 0 when all are alike. */
function pixelSigma(pixels: Float32Array, width: number): number {
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
