/**
 * The stars of a frame that share their size, as behind one telescope they do. Lights of other size, length
 * or profile are no stars; bad columns and straight trails are taken off first; a frame's own structure
 * (clouds, flat field) counts as noise.
 */
import type { FoundStar } from '@holdfast/centroid';
import {
  eraseLight,
  type FrameLight,
  findContrasts,
  frameLight,
  type LightExtent,
  type LightView,
  measureExtent,
  type SearchSettings,
  type StarLight,
  snrOf,
  starLight,
  starsOf,
  takeLights,
} from '@holdfast/centroid/internal';
import { log, median, sigmaPerMedianDeviation, writePhasor } from '@holdfast/psf/numerics';
import { cellMedians, type Surface } from './cell-medians.ts';
import { type CommonShape, commonShape, type RejectReason, unlikeOthers } from './common-shape.ts';
import { FrameFaults } from './frame-faults.ts';
import { measureShape } from './light-shape.ts';
import { levelLines } from './line-defects.ts';
import { type MatchPeak, matchPeaks } from './match-map.ts';
import { unlikeShape } from './other-shapes.ts';
import { bestMatch, type Match, matchAboveBackground, matchAt, type StarProfile } from './star-profile.ts';
import { subtractTrails, type Trail } from './trails.ts';

/** What a search found, and what it did not take for a star. */
export interface StarSearch {
  /** Brightest first. */
  readonly stars: readonly FoundStar[];
  /** Lights that stand out but are no stars of this frame. */
  readonly rejected: readonly RejectedLight[];
  /** Electrons of bad columns, bad rows and trails in each pixel; undefined where there are none. */
  readonly faults: Float32Array | undefined;
}

interface Place {
  readonly x: number;
  readonly y: number;
}

/** A light that is not taken for a star. */
export interface RejectedLight {
  readonly x: number;
  readonly y: number;
  readonly diameterPx: number;
  readonly reason: RejectReason;
}

/** @param onShare  called now and then with the share of the search that is done, 0 to 1 */
export function searchOneSize(
  view: LightView,
  { minSnr, maxDiameterPx, maxStars, saturationE }: SearchSettings,
  onShare?: (share: number) => void,
): StarSearch {
  const frame = frameLight(view);
  if (frame === undefined) return { stars: [], rejected: [], faults: undefined };
  const { pixels, width, height, sigma } = frame;
  const frameFaults = new FrameFaults(pixels);
  levelLines(frameFaults, width, height, sigma);
  const trails = subtractTrails(frameFaults, width, height, sigma);
  const faults = frameFaults.taken;
  const common = commonShape(frame, { minSnr, maxDiameterPx }, (share) => onShare?.(share / 2));
  if (common === undefined) return { stars: [], rejected: [], faults };
  const sky = flatten(frame, cellPerStar * common.diameterPx);

  const sides = sidesAbout(common.diameterPx);
  const least = boxShare * minSnr;
  const contrasts = findContrasts(pixels, width, height, {
    ...{ sigma, sides, least, withStructure: false },
    onShare: (share) => onShare?.((1 + share) / 2),
  });
  const largestPx = Math.max(...sides);
  const leastMatch = leastOfMatch(minSnr, (width * height) / (common.diameterPx / 2) ** 2);
  const rejected: RejectedLight[] = [];
  const bright = takeLights(frame, contrasts, view, {
    ...{ maxStars, saturationE, least, largestPx },
    onLarger({ x, y, side }) {
      rejected.push({ x, y, diameterPx: side, reason: 'larger' });
    },
    isStar(extent) {
      const { x, y, lightRadius } = extent;
      const reason = reasonAgainst(frame, extent, common, trails, leastMatch);
      if (reason !== undefined) rejected.push({ x, y, diameterPx: 2 * lightRadius, reason });
      return reason === undefined;
    },
  });
  // the background that was taken off belongs to their level
  const leveled = bright.map(({ extent, ...light }) => ({ ...light, extent: raised(extent, [sky]) }));
  const faint =
    leveled.length < maxStars
      ? faintStars(frame, view, leveled, rejected, {
          ...{ common, trails, least: leastMatch, maxStars, saturationE, sky },
        })
      : [];
  return { stars: starsOf([...leveled, ...faint], sigma), rejected, faults };
}

/** A light with the backgrounds that were taken off below it. */
const raised = (extent: LightExtent, skies: readonly Surface[]): LightExtent => ({
  ...extent,
  level: extent.level + skies.reduce((sum, sky) => sum + sky.at(extent.x, extent.y), 0),
});

/**
 * Stars that the matched filter finds where the bright ones are taken out.
 *
 * @param rejected  what is not taken for a star is added to it
 */
function faintStars(
  frame: FrameLight,
  view: LightView,
  bright: readonly StarLight[],
  rejected: RejectedLight[],
  {
    common,
    trails,
    least,
    maxStars,
    saturationE,
    sky,
  }: {
    readonly common: CommonShape;
    readonly trails: readonly Trail[];
    readonly least: number;
    readonly maxStars: number;
    readonly saturationE: number;
    readonly sky: Surface;
  },
): StarLight[] {
  const { pixels, width, height, sigma } = frame;
  const { diameterPx, profile } = common;
  const near = 0.6 * diameterPx + 2;
  const reach = 0.55 * diameterPx + 2;
  const found: StarLight[] = [];
  const refused: RejectedLight[] = [];
  const isKnown = (place: Place): boolean =>
    [...bright, ...found].some(({ extent }) => distance(extent, place) < near);
  const isFull = (): boolean => bright.length + found.length >= maxStars;
  const skies = [sky];
  for (let round = 0, before = -1; round < rounds && before < found.length && !isFull(); round++) {
    before = found.length;
    // the stars taken out since raised the background about them
    skies.push(flatten(frame, cellPerStar * diameterPx));
    for (const peak of matchPeaks(frame, profile, leastOfEach * least)) {
      if (isFull()) break;
      if (isKnown(peak) || refused.some((light) => distance(light, peak) < near / 2)) continue;
      // a better place brings a little more: what is far off need not be looked at closely
      const asked = leastOfBoth * least - peak.significance;
      if (matchAt(frame, peak.x, peak.y, profile) < 0.8 * asked) continue;
      const match = bestMatch(frame, peak, profile);
      const { x, y } = match;
      if (isKnown(match) || !standsOut(frame, peak, match, common, trails, least)) continue;
      const extent = measureExtent(pixels, width, height, x, y, reach, reach, sigma);
      const above = matchAboveBackground(frame, match, profile) / match.significance;
      const reason = isSpeck(frame, match, extent, common)
        ? 'smaller'
        : above < leastAbove || above > mostAbove
          ? 'shapeless'
          : unlikeShape(frame, match, common);
      if (extent && !reason) {
        const light = starLight(frame, { ...extent, x, y }, view, saturationE);
        found.push({ ...light, extent: raised(light.extent, skies) });
        eraseLight(pixels, width, height, x, y, reach, sigma);
      } else refused.push({ x, y, diameterPx, reason: reason ?? 'shapeless' });
    }
  }
  rejected.push(...refused);
  return found;
}

/**
 * Whether a match stands out of what the frame holds about it and of what it leaves within the shape: either
 * alone is too strict in a frame of many stars, or too mild between clouds. Near an edge of a shadow or of a
 * galaxy the matches all about scatter more than in noise. What a trail leaves when it is taken off stands
 * out, too: on a trail, of the matches along it.
 */
function standsOut(
  frame: FrameLight,
  peak: MatchPeak,
  match: Match,
  { diameterPx, profile }: CommonShape,
  trails: readonly Trail[],
  least: number,
): boolean {
  const own = match.significance;
  const trail = trailAt(trails, match, diameterPx);
  if (trail === undefined) {
    const rest = leastOfBoth * least - peak.significance;
    return own > Math.max(least, rest) && own > rest * Math.sqrt(scatterAbout(frame, match, profile));
  }
  const asked = trailShare * least;
  return Math.min(peak.significance, own) > asked && own > asked * scatterAlong(frame, trail, match, profile);
}

const trailAt = (trails: readonly Trail[], place: Place, diameterPx: number): Trail | undefined =>
  trails.find((one) => distanceFrom(one, place) < one.halfWidthPx + diameterPx / 2);

/**
 * Rms of the matches about a place, 1 or more: the empty apertures of Labbe et al. (2003, AJ 125, 1107, from
 * memory).
 */
function scatterAbout(frame: FrameLight, { x, y }: Match, profile: StarProfile): number {
  let [squares, count] = [0, 0];
  for (const reaches of reachesAbout)
    for (let direction = 0; direction < 8; direction++) {
      // other directions at each distance
      writePhasor(phasor, 0, (direction + reaches) / 8);
      const far = reaches * profile.reachPx;
      const match = matchAt(frame, x + far * phasor[0], y + far * phasor[1], profile);
      // beyond the frame there is none
      if (match === 0) continue;
      squares += match * match;
      count++;
    }
  return count > 0 ? Math.max(1, Math.sqrt(squares / count)) : 1;
}

const phasor = new Float64Array(2);

/** Distances at which matches about a place are looked at, in reaches of a star. */
const reachesAbout = [1.5, 2, 2.5];

/** Scatter of the matches along a trail, as far to its side: 1 where it leaves nothing. */
function scatterAlong(frame: FrameLight, { cos, sin }: Trail, { x, y }: Place, profile: StarProfile): number {
  const sizes: number[] = [];
  for (let step = 2; step <= stepsAlong; step++)
    for (const by of [step * profile.reachPx, -step * profile.reachPx]) {
      const [across, down] = [x + by * cos, y + by * sin];
      if (across < 0 || down < 0 || across >= frame.width || down >= frame.height) continue;
      sizes.push(Math.abs(matchAt(frame, across, down, profile)));
    }
  return sizes.length < fewMatches ? unknownScatter : Math.max(1, sigmaPerMedianDeviation * median(sizes));
}

/** Reaches of a star to either side along a trail; and where its matches are too few, what is taken. */
const stepsAlong = 12;
const fewMatches = 6;
const unknownScatter = 1.5;

/**
 * Whether a light is a fault of some pixels, or much smaller than the stars: it loses its match when no
 * pixel counts more than four sigmas. That of a faint ring does not, however small its measured extent.
 */
function isSpeck(
  frame: FrameLight,
  { x, y, significance }: Match,
  extent: LightExtent | undefined,
  { diameterPx, profile }: CommonShape,
): boolean {
  if (extent === undefined) return false;
  const kept = matchAt(frame, x, y, profile, 1, 4) / significance;
  return kept < 0.7 || (kept < 0.9 && 4 * extent.lightRadius < diameterPx - 2);
}

const distance = (a: Place, b: Place): number => Math.sqrt((a.x - b.x) ** 2 + (a.y - b.y) ** 2);

const distanceFrom = (trail: Trail, { x, y }: Place): number =>
  Math.abs((x - trail.x) * trail.sin - (y - trail.y) * trail.cos);

/** Side of the cells whose medians are the background, in diameters of a star; and the least, px. */
const cellPerStar = 3;
const leastCell = 24;

/** Subtract the background as the medians of cells tell it, in place. */
function flatten({ pixels, width, height }: FrameLight, cell: number): Surface {
  const sky = cellMedians(pixels, width, height, Math.max(leastCell, cell));
  for (let y = 0; y < height; y++) sky.subtractFrom(pixels, y * width, y);
  return sky;
}

/** Box sides that hold a star of this diameter more or less, px, odd. */
function sidesAbout(diameterPx: number): number[] {
  const sides = [0.65, 0.9, 1.2].map((share) => 2 * Math.round((share * diameterPx) / 2) + 1);
  return [...new Set(sides.map((side) => Math.max(3, side)))];
}

/** Boxes look for lights that stand out so many times as far as asked; the filter finds fainter ones. */
const boxShare = 2;
/** Times that the filter looks for stars, while it finds any: those found hide others about them. */
const rounds = 3;
/**
 * The matched filter asks for this share of `minSnr` where there are so many places to look at, and for less
 * where there are fewer: the number of false stars from noise stays alike.
 */
const matchShare = 0.85;
const usualPlaces = 3e4;

function leastOfMatch(minSnr: number, places: number): number {
  const square = (matchShare * minSnr) ** 2 + 2 * log(places / usualPlaces);
  return Math.sqrt(Math.max(square, (0.65 * minSnr) ** 2));
}

/**
 * Either measure of a faint match counts as little as this share of what is asked, where the sum of both
 * reaches that one; the match counts less by the root of the scatter about it. Of 1200 stars found and 44
 * other lights this sum tells best which is which.
 */
const leastOfEach = 0.65;
const leastOfBoth = 2.14;
/** And both for more on a trail: what a trail leaves when it is taken off stands out more than noise. */
const trailShare = 1.4;
/**
 * A light whose match above the background alone is less than this share is a spot amid darkness, one of more
 * a part of a larger light.
 */
const leastAbove = 0.5;
const mostAbove = 2;
/** Lights of more than this are not asked for their shape by the matched filter. */
const surelyLight = 80;

function reasonAgainst(
  frame: FrameLight,
  extent: LightExtent,
  common: CommonShape,
  trails: readonly Trail[],
  leastMatch: number,
): RejectReason | undefined {
  const { pixels, width, height, sigma } = frame;
  const snr = snrOf(extent, sigma);
  const reason = unlikeOthers(extent, measureShape(pixels, width, height, extent, sigma), snr, common);
  if (reason !== undefined || snr > surelyLight) return reason;
  const { diameterPx, profile } = common;
  const match = bestMatch(frame, extent, profile);
  const trail = trailAt(trails, match, diameterPx);
  if (trail && match.significance < trailShare * leastMatch * scatterAlong(frame, trail, match, profile))
    return 'shapeless';
  if (match.significance < leastMatch) return 'shapeless';
  return unlikeShape(frame, match, common);
}
