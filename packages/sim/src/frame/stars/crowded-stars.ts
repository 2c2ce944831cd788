/** Stars of a frame that are fitted in pairs since their light mixes, and lights that are two stars. */
import type { FoundStar } from '@holdfast/centroid';
import type { RejectedLight } from '../search/one-size-search.ts';
import { type ClosePair, closePair, type PairOptions, type PairStar, sizeOf } from './close-pair.ts';
import type { Likeness } from './likeness.ts';
import type { MeasuredStar, SkyLevel } from './measured-star.ts';
import { cutWindow, type ElectronFrame, type StarWindow } from './star-window.ts';

/** What pairs make of a frame's stars. */
export interface Crowd {
  /** The stars found, the first of a light that is two at its own place; the second ones at the end. */
  readonly found: readonly FoundStar[];
  /** By star: its neighbor as it was fitted together with it. */
  readonly partners: ReadonlyMap<number, PairStar>;
  /** Lights that are two stars, or are the second of one that is. */
  readonly accepted: ReadonlySet<RejectedLight>;
  /** What all of them look like. */
  readonly likeness: Likeness;
}

/** Fewer stars than this do not tell what a single one looks like. */
const leastStars = 3;
/** Stars nearer than this many of their sizes are fitted together. */
const togetherFrom = 1.3;

/** Two stars may look like this to the search, up to so many times the usual size. */
const mayBeTwo: ReadonlySet<RejectedLight['reason']> = new Set(['larger', 'elongated', 'other-profile']);
const mostSizes = 3;
/** Of more rejected lights the first ones are tried: their work is bounded. */
const mostLights = 8;

/** A faint galaxy passes for two stars: of 40 hard frames two did, at an SNR of 16 and 30. */
const ofRejected = { leastSnr: 40, leastExplained: 0.9 } as const;

/**
 * Undefined where no star has a near neighbor, or nothing tells what a single one looks like.
 *
 * @param windows  of the stars, in their order
 */
export function crowdOf(
  frame: ElectronFrame,
  stars: readonly MeasuredStar[],
  windows: readonly StarWindow[],
  rejected: readonly RejectedLight[],
  level: SkyLevel,
): Crowd | undefined {
  const likeness = typicalLikeness(stars);
  if (likeness === undefined) return undefined;
  const found = stars.map((star) => star.found);
  const fit = (window: StarWindow, options?: PairOptions): ClosePair | undefined => {
    const sky = window.background ?? level;
    // Light of a neighbor makes the noise around a star look larger than it is.
    const sigma = Math.min(sky.sigma, level.sigma);
    return closePair(window, { level: sky.level, sigma }, likeness, options);
  };
  const near = togetherFrom * sizeOf(likeness);
  const partners = new Map<number, PairStar>();
  const double: { k: number; pair: ClosePair }[] = [];
  let single = 0;
  for (const [k, star] of found.entries()) {
    const [j, distance] = nearestOf(star, found);
    if (distance < near) {
      const [a, b] = fit(windows[k], { known: [star, found[j]] }) ?? [];
      if (a && b) partners.set(k, distanceOf(a, star) <= distanceOf(b, star) ? b : a);
      continue;
    }
    const pair = star.saturatedFraction > 0 ? undefined : fit(windows[k]);
    if (pair === undefined) single++;
    else double.push({ k, pair });
  }
  // what most stars share is their shape, not a neighbor
  if (double.length > single) double.length = 0;
  const accepted = new Set<RejectedLight>();
  const [usual] = [...found].sort((a, b) => a.diameterPx - b.diameterPx).slice(found.length >> 1);
  const placed = (star: PairStar, of: FoundStar): FoundStar => {
    const share = star.fluxE / of.flux;
    return {
      ...of,
      x: star.x,
      y: star.y,
      diameterPx: Math.min(of.diameterPx, usual.diameterPx),
      flux: star.fluxE,
      snr: of.snr * Math.min(1, share),
      peak: of.peak * Math.min(1, share),
    };
  };
  const add = (star: PairStar, partner: PairStar, of: FoundStar): void => {
    partners.set(found.length, partner);
    found.push(placed(star, of));
  };
  /** Whether another star than the one of this index stands there. */
  const isFound = (star: PairStar, but?: number): boolean =>
    found.some((other, j) => j !== but && distanceOf(other, star) < usual.diameterPx / 2);
  for (const { k, pair } of double) {
    const [first, second] = pair;
    const of = found[k];
    if (isFound(second, k)) {
      partners.set(k, second);
      continue;
    }
    found[k] = placed(first, of);
    partners.set(k, second);
    add(second, first, of);
  }
  const lights = rejected.filter(
    ({ reason, diameterPx }) => mayBeTwo.has(reason) && diameterPx < mostSizes * usual.diameterPx,
  );
  for (const light of lights) {
    if (found.some((star) => distanceOf(star, light) < usual.diameterPx / 2)) accepted.add(light);
    else if (lights.indexOf(light) < mostLights) {
      const { x, y, diameterPx } = light;
      const of = { ...usual, x, y, diameterPx };
      const [first, second] = fit(cutWindow(frame, of, undefined, found), ofRejected) ?? [];
      if (!first || !second) continue;
      // what is left of a star that was found is no second one
      if (isFound(first) || isFound(second)) continue;
      accepted.add(light);
      add(first, second, { ...of, flux: Math.max(usual.flux, first.fluxE) });
      add(second, first, { ...of, flux: Math.max(usual.flux, first.fluxE) });
    }
  }
  return partners.size > 0 ? { found, partners, accepted, likeness } : undefined;
}

/** Of the star whose size is a little below the middle one, since lights that are two are larger. */
function typicalLikeness(stars: readonly MeasuredStar[]): Likeness | undefined {
  const shapes = stars.flatMap(({ likeness }) => (likeness === undefined ? [] : [likeness]));
  const rings = shapes.filter(({ kind }) => kind === 'annulus');
  const alike = 2 * rings.length >= shapes.length ? rings : shapes.filter(({ kind }) => kind !== 'annulus');
  if (alike.length < leastStars) return undefined;
  return alike.sort((a, b) => sizeOf(a) - sizeOf(b))[Math.floor((alike.length - 1) / 3)];
}

const distanceOf = (a: { x: number; y: number }, b: { x: number; y: number }): number =>
  Math.sqrt((a.x - b.x) ** 2 + (a.y - b.y) ** 2);

function nearestOf(star: FoundStar, all: readonly FoundStar[]): [number, number] {
  let [nearest, least] = [-1, Infinity];
  for (const [j, other] of all.entries()) {
    if (other === star) continue;
    const distance = distanceOf(other, star);
    if (distance < least) [nearest, least] = [j, distance];
  }
  return [nearest, least];
}
