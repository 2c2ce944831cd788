/**
 * The stars of a frame that share their size, as behind one telescope they do. Lights of other size, length
 * or profile are no stars; bad columns and straight trails are taken off first; a frame's own structure
 * (clouds, flat field) counts as noise.
 */
import type { FoundStar } from '@holdfast/centroid';
import {
  extentOf,
  findContrasts,
  frameLight,
  type LightExtent,
  type LightView,
  measureExtent,
  type SearchSettings,
  snrOf,
  starsOf,
  takeLights,
} from '@holdfast/centroid/internal';
import { cellMedians, type Surface } from './cell-medians.ts';
import { type CommonShape, commonShape, type RejectReason, unlikeOthers } from './common-shape.ts';
import { FrameFaults } from './frame-faults.ts';
import { measureShape } from './light-shape.ts';
import { levelLines } from './line-defects.ts';
import { exponentialProfile, matchedSignificance } from './star-profile.ts';
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
  const common = commonShape(pixels, width, height, sigma, minSnr, maxDiameterPx, (share) =>
    onShare?.(share / 2),
  );
  if (common === undefined) return { stars: [], rejected: [], faults };
  const sky = flatten(pixels, width, height, cellPerStar * common.diameterPx);

  const sides = sidesAbout(common.diameterPx);
  const contrasts = findContrasts(pixels, width, height, {
    ...{ sigma, sides, least: boxShare * minSnr, withStructure: true },
    onShare: (share) => onShare?.((1 + share) / 2),
  });
  const largestPx = Math.max(...sides);
  const rejected: RejectedLight[] = [];
  let structure: ReadonlyMap<number, number> | undefined;
  const lights = takeLights(frame, contrasts, view, {
    ...{ maxStars, saturationE, least: boxShare * minSnr, largestPx },
    extentOf(best, significance) {
      // what follows is fainter; the bright stars, which are no structure, are taken out
      if (significance < faintBelow * minSnr)
        structure ??= new Map(sides.map((side) => [side, Math.sqrt(contrasts.structure(side) ?? 1)]));
      const reach = 0.52 * largestPx + 2;
      return structure && largestPx > largeSide
        ? measureExtent(pixels, width, height, best.x, best.y, reach, reach, sigma)
        : extentOf(pixels, width, height, best, 1.25 * largestPx, sigma);
    },
    onLarger({ x, y, side }) {
      rejected.push({ x, y, diameterPx: side, reason: 'larger' });
    },
    isStar(extent, { side }) {
      const { x, y, lightRadius } = extent;
      const onTrail = trails.some((trail) => distanceFrom(trail, extent) < trail.halfWidthPx + lightRadius);
      const leastMatched = minSnr * (structure?.get(side) ?? 1);
      const reason = reasonAgainst(pixels, width, height, extent, sigma, leastMatched, common, onTrail);
      if (reason !== undefined) rejected.push({ x, y, diameterPx: 2 * lightRadius, reason });
      return reason === undefined;
    },
  });
  // the background that was taken off belongs to their level
  const leveled = lights.map(({ extent, ...light }) => ({
    ...light,
    extent: { ...extent, level: extent.level + sky.at(extent.x, extent.y) },
  }));
  return { stars: starsOf(leveled, sigma), rejected, faults };
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
