/** Find the stars of a frame, points and rings alike, without knowing their size. */

import { requireInteger, requireLimit, requireNames, requirePositive } from '@holdfast/psf/numerics';
import type { Image } from '../pixels/centroid.ts';
import { type LightView, lightView } from '../pixels/image-view.ts';
import type { Candidate } from './box-contrast.ts';
import { putBack, queueOf } from './candidate-queue.ts';
import { type FrameLight, frameLight } from './frame-light.ts';
import { eraseLight, extentOf, highestWithin, type LightExtent, shareAtOrAbove } from './light-extent.ts';
import { boxSides, type Contrasts, findContrasts } from './star-scales.ts';

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
}

const locateStarDefaults = { minSnr: 6, maxDiameterPx: 80, maxStars: 50 } as const;

/** A light larger than this times the largest one looked for is no star: a halo, a cloud. */
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
  return searchStars(lightView(image, options?.valid), options);
}

/**
 * `locateStar` for any numbers.
 *
 * @param onShare  called now and then with the share of the frame that is looked at, 0 to 1
 */
export function searchStars(
  view: LightView,
  options: LocateStarOptions = {},
  onShare?: (share: number) => void,
): FoundStar[] {
  requireNames('options', options, 'valid minSnr maxDiameterPx maxStars saturationE');
  const asked = requireSearch(options);
  const frame = frameLight(view);
  if (frame === undefined) return [];
  const { pixels, width, height, sigma } = frame;
  const { minSnr, maxDiameterPx } = asked;
  const sides = boxSides(maxDiameterPx);
  const contrasts = findContrasts(pixels, width, height, {
    ...{ sigma, sides, onShare },
    ...{ least: minSnr, withStructure: false },
  });
  const lights = takeLights(frame, contrasts, view, { ...asked, least: minSnr, largestPx: maxDiameterPx });
  return starsOf(lights, sigma);
}

/** Options of a search, all of them given and within their range. */
export interface SearchSettings {
  readonly minSnr: number;
  readonly maxDiameterPx: number;
  readonly maxStars: number;
  readonly saturationE: number;
}

/** @throws RangeError or TypeError naming the option that is out of range */
export function requireSearch(options: LocateStarOptions): SearchSettings {
  const { minSnr, maxDiameterPx, maxStars } = locateStarDefaults;
  return {
    minSnr: requirePositive('minSnr', options.minSnr ?? minSnr),
    maxDiameterPx: requirePositive('maxDiameterPx', options.maxDiameterPx ?? maxDiameterPx),
    maxStars: requireInteger('maxStars', options.maxStars ?? maxStars, 1, 1e6),
    saturationE: requireLimit('saturationE', options.saturationE ?? Infinity),
  };
}

/** Which of the lights that stand out are stars. */
export interface StarChoice {
  readonly maxStars: number;
  readonly saturationE: number;
  /** Least contrast of a light in a box. */
  readonly least: number;
  readonly largestPx: number;
  /** The light about a candidate. Default: followed outward to where it ends. */
  readonly extentOf?: (candidate: Candidate, significance: number) => LightExtent | undefined;
  /** Whether a light is a star. Default: each is. */
  readonly isStar?: (extent: LightExtent, candidate: Candidate) => boolean;
  /** Called with each light that is larger. */
  readonly onLarger?: (candidate: Candidate) => void;
}

/** A light taken for a star. */
export interface StarLight {
  readonly extent: LightExtent;
  readonly peak: number;
  readonly saturatedFraction: number;
}

/** Take lights out of a frame one after the other, the one that stands out most first. */
export function takeLights(
  frame: FrameLight,
  contrasts: Contrasts,
  view: LightView,
  choice: StarChoice,
): StarLight[] {
  const { pixels, width, height, sigma } = frame;
  const { least } = choice;
  const largest = sizeTolerance * choice.largestPx;
  const queue = queueOf(contrasts.candidates);
  const found: StarLight[] = [];
  for (let best = queue.pop(); best !== undefined && found.length < choice.maxStars; best = queue.pop()) {
    const significance = contrasts.contrastNow(best);
    if (significance < least) continue;
    if (significance < sameSignificance * best.significance) {
      putBack(queue, { ...best, significance });
      continue;
    }
    const extent = choice.extentOf
      ? choice.extentOf(best, significance)
      : extentOf(pixels, width, height, best, largest, sigma);
    if (extent === undefined || 2 * extent.lightRadius > largest) {
      choice.onLarger?.(best);
      contrasts.takeOut(eraseLight(pixels, width, height, best.x, best.y, best.side / 2, sigma));
      continue;
    }
    if (choice.isStar?.(extent, best) ?? true) found.push(starLight(frame, extent, view, choice.saturationE));
    contrasts.takeOut(eraseLight(pixels, width, height, extent.x, extent.y, extent.radius, sigma));
  }
  return found;
}

/** A light as a star, before it is taken out. */
export const starLight = (
  { pixels, width, height, base }: FrameLight,
  extent: LightExtent,
  view: LightView,
  saturationE: number,
): StarLight => ({
  extent: { ...extent, level: base + extent.level },
  peak: highestWithin(pixels, width, height, extent, extent.lightRadius),
  saturatedFraction:
    saturationE < Infinity ? shareAtOrAbove(view, extent, extent.lightRadius, saturationE) : 0,
});

/** Flux over its error from photons and the noise of the pixels within the light diameter. */
export const snrOf = ({ flux, lightRadius }: LightExtent, sigma: number): number =>
  flux / Math.sqrt(Math.max(0, flux) + Math.PI * Math.max(1, lightRadius) ** 2 * sigma * sigma);

/** Lights as stars, brightest first. */
export const starsOf = (lights: readonly StarLight[], sigma: number): FoundStar[] =>
  lights.map((light) => describe(light, lights, sigma)).sort((a, b) => b.flux - a.flux);

function describe(
  { extent, peak, saturatedFraction }: StarLight,
  all: readonly StarLight[],
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
