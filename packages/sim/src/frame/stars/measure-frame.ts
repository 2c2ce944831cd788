/**
 * Every star of a real frame: where it is by each estimator, how bright, how large, what its ring says of the
 * focus.
 */
import { type Background, estimateBackground, type FoundStar, type Noise } from '@holdfast/centroid';
import {
  emptyVariance,
  type LightView,
  lightView,
  requireSearch,
  searchStars,
} from '@holdfast/centroid/internal';
import type { Image } from '@holdfast/psf';
import { imageHeight, imageWidth } from '@holdfast/psf/internal';
import { requireFinite, requireNames, requireNonNegative, requirePositive } from '@holdfast/psf/numerics';
import type { CancelSignal, Progress } from '../../long-work.ts';
import { requireTelescope } from '../rings/ring-fit.ts';
import { type RejectedLight, type StarSearch, searchOneSize } from '../search/one-size-search.ts';
import type { PairStar } from './close-pair.ts';
import { crowdOf } from './crowded-stars.ts';
import { type FrameRegion, partOf, requireRegion } from './frame-region.ts';
import type { Likeness } from './likeness.ts';
import { type MeasuredStar, measureStar, movedStar } from './measured-star.ts';
import { addNeighbors, addStar, reaches, undrawable } from './neighbor-light.ts';
import { cutWindow, type ElectronFrame, type StarWindow, windowPart, windowRadius } from './star-window.ts';

/** The camera and telescope of a frame, and what is measured on it. */
export interface MeasureFrameOptions {
  /** Electrons per unit of the frame, > 0; 1 for a frame in electrons. All errors rest on it. */
  readonly gainEPerAdu: number;
  /**
   * Level of the camera without light, in units of the frame, taken off first: it has no photon noise.
   * Default 0.
   */
  readonly offsetAdu?: number;
  /** Read noise, electrons rms per pixel. */
  readonly readNoiseE: number;
  /**
   * Sky and dark electrons per pixel that were subtracted from the frame before: their noise is still in it.
   * Default 0.
   */
  readonly subtractedE?: number;
  /** Units of the frame at which a pixel is saturated, as `readFits` tells. Default: none. */
  readonly saturationAdu?: number;
  /** 1 = use the pixel, 0 = do not; row-major, width * height. Non-finite pixels are never used. */
  readonly valid?: Uint8Array;
  /** Part of the frame to look at; positions stay those of the frame. Default: all of it. */
  readonly region?: FrameRegion;
  /** Least contrast of a star over its noise. Default 6. */
  readonly minSnr?: number;
  /** Most stars measured, the ones that stand out most. Default 20. */
  readonly maxStars?: number;
  /**
   * Largest diameter of a star's light looked for, px. Default: 0.8 of the frame's shorter side, from 80 to
   * 320.
   */
  readonly maxDiameterPx?: number;
  /**
   * Whether all stars of the frame are out of focus alike, as behind one telescope they are but for the
   * curvature of the field: what has another size or shape is then no star (a halo, a cloud, a galaxy, a
   * trail, a fault of the sensor). Default true.
   */
  readonly oneSize?: boolean;
  /**
   * After so many seconds no further star is measured; the brightest are measured first. Default: no limit.
   */
  readonly timeBudgetS?: number;
  /** Called as the search goes down the frame, in percent, and after each star. */
  readonly onProgress?: (progress: Progress) => void;
  /** Once it is aborted, its reason is thrown before the next part of the search and the next star. */
  readonly signal?: CancelSignal;
  /** Linear obstruction of the telescope where it is known: small rings are measured better. */
  readonly obstructionRatio?: number;
  /** With both, rings give the size of the focus shift. */
  readonly fNumber?: number;
  /** Side of a pixel of the frame, um, > 0; needed for the focus shift. */
  readonly pixelSizeUm?: number;
}

const measureFrameDefaults = { minSnr: 6, maxStars: 20, offsetAdu: 0 } as const;

/** A light below it is no star, however little its pixels scatter: of few electrons all is noise. */
const leastSnr = 3;

/** Rounds of measuring each star with its neighbors taken off. */
const rounds = 3;

/**
 * Find the stars of a frame and measure each, brightest first. Stars whose light mixes are measured in turns,
 * each with the others' rings or Gaussians taken off. A light within that of a star ten times as bright is
 * not counted as a star.
 *
 * ```ts
 * const frame = readFits(bytes)
 * if (frame.ok)
 *   for (const star of measureFrame(frame.image, { gainEPerAdu: 1.2, readNoiseE: 1.5, fNumber: 5, pixelSizeUm: 3.75 }))
 *     console.log(star.positions.centerOfMass, star.ring)
 * ```
 * @param image  a frame in the camera's units, background included or not; not modified
 * @returns the stars; none when nothing stands out
 * @throws RangeError or TypeError naming the option that is out of range
 */
export function measureFrame(image: Image, options: MeasureFrameOptions): MeasuredStar[] {
  return [...surveyFrame(image, options).stars];
}

/** The stars of a frame, what was not taken for one, and what there was no time for. */
export interface FrameSurvey {
  /** Brightest first. */
  readonly stars: readonly MeasuredStar[];
  /** Lights that stand out but are no stars of this frame; without `oneSize` none. */
  readonly rejected: readonly RejectedLight[];
  /** Stars found that `timeBudgetS` left no time for. */
  readonly unmeasured: readonly FoundStar[];
}

/** `measureFrame`, with what was rejected and what was left. Errors and options are the same. */
export function surveyFrame(image: Image, options: MeasureFrameOptions): FrameSurvey {
  return surveyKnowing(image, options, () => undefined);
}

/** What a star at this place of the frame looks like, or undefined: then its ring is fitted. */
export type KnownLikeness = (star: { readonly x: number; readonly y: number }) => Likeness | undefined;

/**
 * `measureFrame` with the shapes of some stars known from an earlier frame: most of the time goes into
 * fitting rings.
 */
export function measureFrameKnowing(
  image: Image,
  options: MeasureFrameOptions,
  known: KnownLikeness,
): MeasuredStar[] {
  return [...surveyKnowing(image, options, known).stars];
}

function surveyKnowing(image: Image, options: MeasureFrameOptions, known: KnownLikeness): FrameSurvey {
  requireTelescope(
    requireNames(
      'options',
      options,
      'gainEPerAdu offsetAdu readNoiseE subtractedE saturationAdu valid region minSnr maxStars',
      'maxDiameterPx oneSize timeBudgetS onProgress signal obstructionRatio fNumber pixelSizeUm',
    ),
  );
  const { region, ...rest } = options;
  if (region !== undefined) {
    const { left, top, width, height } = requireRegion(region, imageWidth(image), imageHeight(image));
    const valid = rest.valid === undefined ? {} : { valid: partOf(rest.valid, image, region) };
    const part = image.lo(top, left).hi(height, width);
    const knownThere: KnownLikeness = ({ x, y }) => known({ x: x + left, y: y + top });
    const { stars, rejected, unmeasured } = surveyKnowing(part, { ...rest, ...valid }, knownThere);
    const placed = <Light extends { readonly x: number; readonly y: number }>(light: Light): Light => ({
      ...light,
      x: light.x + left,
      y: light.y + top,
    });
    return {
      stars: stars.map((star) => movedStar(star, left, top)),
      rejected: rejected.map(placed),
      unmeasured: unmeasured.map(placed),
    };
  }
  const view = requireView(image, options);
  const saturationE =
    options.saturationAdu === undefined
      ? undefined
      : (options.saturationAdu - (options.offsetAdu ?? measureFrameDefaults.offsetAdu)) * options.gainEPerAdu;
  const noise: Noise = {
    readNoiseE: requireNonNegative('readNoiseE', options.readNoiseE),
    backgroundE: requireNonNegative('subtractedE', options.subtractedE ?? 0),
  };
  const clock = startClock(options);
  const asked = {
    minSnr: options.minSnr ?? measureFrameDefaults.minSnr,
    maxStars: options.maxStars ?? measureFrameDefaults.maxStars,
    maxDiameterPx:
      options.maxDiameterPx ?? Math.max(80, Math.min(0.8 * Math.min(view.width, view.height), 320)),
    ...(saturationE === undefined ? {} : { saturationE }),
  };
  const search: StarSearch =
    options.oneSize === false
      ? { stars: searchStars(view, asked, clock.onSearch), rejected: [], faults: undefined }
      : searchOneSize(view, requireSearch(asked), clock.onSearch);
  const frame: ElectronFrame = { ...view, faults: search.faults };
  let found: readonly FoundStar[] = search.stars.filter(
    (star) => star.snr >= leastSnr && !isRemainder(star, search.stars),
  );
  const level = levelOfFrame(image, options);
  const { obstructionRatio, fNumber, pixelSizeUm } = options;
  const telescope = {
    ...(obstructionRatio === undefined ? {} : { obstructionRatio }),
    ...(fNumber === undefined ? {} : { fNumber }),
    ...(pixelSizeUm === undefined ? {} : { pixelSizeUm }),
  };
  const measure = (
    star: FoundStar,
    window: StarWindow,
    likeness: Likeness | undefined,
    before?: MeasuredStar,
  ): MeasuredStar =>
    measureStar(star, window, {
      neighborDistancePx: nearest(star, found),
      frameLevel: level,
      noise,
      saturationE,
      telescope,
      likeness: known(star) ?? likeness,
      before,
    });

  const stars: MeasuredStar[] = [];
  const windows: StarWindow[] = [];
  let common: Likeness | undefined;
  for (const star of found) {
    if (clock.isOver(stars.length, found.length)) break;
    if (options.oneSize !== false && stars.length === ownRings) common = commonLikeness(stars);
    const window = cutWindow(frame, star, undefined, without(found, star));
    windows.push(window);
    stars.push(measure(star, window, common));
  }
  const isWhole = stars.length === found.length;
  const crowd =
    isWhole && options.oneSize !== false ? crowdOf(frame, stars, windows, search.rejected, level) : undefined;
  found = crowd?.found ?? found;
  // the second stars of lights that are two
  if (isWhole)
    for (const star of found.slice(stars.length))
      stars.push(measure(star, cutWindow(frame, star, undefined, without(found, star)), common));
  /** What was taken off about each star. */
  const taken = new Map<number, Float64Array>();
  for (let round = 1; round < rounds && isWhole; round++)
    for (const [k, star] of found.entries()) {
      const partner = crowd?.partners.get(k);
      const others = stars.filter(
        (other, j) => j !== k && reaches(other.found, star) && !isAt(found[j], partner, star),
      );
      if (others.length === 0 && partner === undefined) continue;
      if (clock.isOver(stars.length, found.length)) break;
      const part = windowPart(frame, star);
      const light = new Float64Array(part.width * part.height);
      addNeighbors(light, part, frame, others);
      if (crowd && partner) {
        const { x, y, fluxE } = partner;
        addStar(light, part, frame, crowd.likeness, x, y, fluxE, 2 * windowRadius(star));
      }
      const besides = undrawable(others).map((other) => other.found);
      const before = taken.get(k);
      const empty = emptyVariance(noise) + Math.max(0, stars[k].backgroundE.value);
      if (before && besides.length === 0 && isAlike(light, before, empty)) continue;
      taken.set(k, light);
      stars[k] = measure(
        star,
        cutWindow(frame, star, light, besides),
        k < ownRings ? undefined : common,
        stars[k],
      );
    }
  const rejected = search.rejected.filter((light) => !crowd?.accepted.has(light));
  return { stars, rejected, unmeasured: found.slice(stars.length) };
}

/** Keeps the time; tells how far the work is. */
function startClock({ timeBudgetS = Infinity, onProgress, signal }: MeasureFrameOptions): {
  isOver(done: number, total: number): boolean;
  onSearch(share: number): void;
} {
  if (timeBudgetS !== Infinity) requirePositive('timeBudgetS', timeBudgetS);
  const end = timeBudgetS === Infinity ? Infinity : Date.now() + 1000 * timeBudgetS;
  return {
    onSearch(share) {
      signal?.throwIfAborted();
      onProgress?.({ task: 'search for stars', done: Math.round(100 * share), total: 100 });
    },
    isOver(done, total) {
      signal?.throwIfAborted();
      if (done > 0) onProgress?.({ task: 'stars of the frame', done, total });
      return end < Infinity && Date.now() > end;
    },
  };
}

/**
 * So many of the brightest stars have rings of their own fitted; the others of a frame of one size look like
 * the best of these.
 */
const ownRings = 8;

/** Of the star whose ring is best known; undefined when none shows a ring. */
function commonLikeness(stars: readonly MeasuredStar[]): Likeness | undefined {
  let best: MeasuredStar | undefined;
  for (const star of stars)
    if (star.ring.ok && (best === undefined || errorOf(star) < errorOf(best))) best = star;
  return best?.likeness;
}

const errorOf = ({ ring }: MeasuredStar): number => (ring.ok ? ring.outerDiameterPx.standardError : Infinity);

/** What the search leaves of an uneven or crowded ring: within the light of a star ten times as bright. */
function isRemainder(star: FoundStar, all: readonly FoundStar[]): boolean {
  return all.some(
    (other) =>
      other.flux > 10 * star.flux &&
      (other.x - star.x) ** 2 + (other.y - star.y) ** 2 < windowRadius(other) ** 2,
  );
}

/**
 * Whether two pictures differ by so little that nothing measured on them differs by more than a fiftieth of
 * its error: by the inequality of Cauchy and Schwarz, what is a sum over pixels changes by no more of its
 * error than the root of the sum of (difference / noise)^2.
 *
 * @param variance  least of a pixel, electrons^2
 */
function isAlike(one: Float64Array, other: Float64Array, variance: number): boolean {
  let square = 0;
  for (let k = 0; k < one.length; k++) square += (one[k] - other[k]) ** 2;
  return square <= 0.02 ** 2 * variance;
}

/** Distance to the nearest other star, px; undefined for the only one. */
function nearest(star: FoundStar, all: readonly FoundStar[]): number | undefined {
  let least2 = Infinity;
  for (const other of all)
    if (other !== star) least2 = Math.min(least2, (other.x - star.x) ** 2 + (other.y - star.y) ** 2);
  return least2 < Infinity ? Math.sqrt(least2) : undefined;
}

/** Whether a star found is the partner of another: it lies nearer to where that was fitted. */
const isAt = (one: FoundStar, partner: PairStar | undefined, star: FoundStar): boolean =>
  partner !== undefined &&
  (one.x - partner.x) ** 2 + (one.y - partner.y) ** 2 <
    ((star.x - partner.x) ** 2 + (star.y - partner.y) ** 2) / 4;

const without = (stars: readonly FoundStar[], one: FoundStar): FoundStar[] =>
  stars.filter((star) => star !== one);

/** @throws RangeError or TypeError naming the option that is out of range */
function requireView(
  image: Image,
  { gainEPerAdu, saturationAdu, valid, offsetAdu = measureFrameDefaults.offsetAdu }: MeasureFrameOptions,
): LightView {
  requirePositive('gainEPerAdu', gainEPerAdu);
  requireFinite('offsetAdu', offsetAdu);
  if (saturationAdu !== undefined) requireFinite('saturationAdu', saturationAdu);
  return lightView(image, valid, offsetAdu, gainEPerAdu);
}

const noLevel: Background = {
  ok: true,
  ...{ level: 0, levelSigma: 0, sigma: 0, pixelsUsed: 1 },
  ...{ slopeX: 0, slopeY: 0, x0: 0, y0: 0 },
};

/** Level of the whole frame, for stars without sky of their own. */
function levelOfFrame(
  image: Image,
  { gainEPerAdu, valid, offsetAdu = measureFrameDefaults.offsetAdu }: MeasureFrameOptions,
): Background {
  const background = estimateBackground(image, {
    ...(valid === undefined ? {} : { valid }),
    center: 'median',
  });
  if (!background.ok) return noLevel;
  return {
    ...background,
    level: (background.level - offsetAdu) * gainEPerAdu,
    levelSigma: background.levelSigma * gainEPerAdu,
    sigma: background.sigma * gainEPerAdu,
  };
}
