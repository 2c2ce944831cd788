/**
 * The same stars on frame after frame. The first frame with stars chooses them. On each later frame they are
 * looked for where they were last, in small parts of the frame; where that fails the whole frame is searched
 * and the displacement that most stars share is taken. Rings are fitted anew on every frame for the brightest
 * star, whose focus all share; the others keep their likeness, scaled with it, and have their own rings
 * fitted now and then.
 */
import type { FoundStar } from '@holdfast/centroid';
import type { Image } from '@holdfast/psf';
import { imageHeight, imageWidth } from '@holdfast/psf/internal';
import type { FrameRegion } from '../stars/frame-region.ts';
import type { Likeness } from '../stars/likeness.ts';
import { type KnownLikeness, type MeasureFrameOptions, measureFrameKnowing } from '../stars/measure-frame.ts';
import type { MeasuredStar } from '../stars/measured-star.ts';
import { skyRadius, windowRadius } from '../stars/star-window.ts';
import { matchStars, type StarPlace } from './match-stars.ts';

export interface FollowOptions {
  readonly maxStars: number;
  /** How far a star may move from frame to frame before the whole frame is searched, px. */
  readonly searchPx: number;
  /** Frames after which every star's ring is fitted anew; 1 = on each. */
  readonly refitEvery: number;
}

/** One frame's measures, in the order of the stars chosen; undefined where a star was not found. */
export interface FollowedFrame {
  readonly stars: readonly (MeasuredStar | undefined)[];
  /** The whole frame was searched. */
  readonly searched: boolean;
}

/** A star that is followed. */
interface Followed {
  last: MeasuredStar;
  likeness: Likeness | undefined;
  /** Outer diameter of its ring over that of the brightest star, at the last fit of both. */
  perBrightest: number;
}

/** Stars within reach of another are measured together with it, this many at most. */
const mostTogether = 4;

/** Follows the stars of a sequence; one for each sequence. */
export class StarFollower {
  readonly #options: FollowOptions;
  #followed: readonly Followed[] = [];
  /** All stars of the first frame: those beyond `maxStars` disturb, too. */
  #all: readonly MeasuredStar[] = [];
  #frames = 0;

  constructor(options: FollowOptions) {
    this.#options = options;
  }

  /** Measure the next frame; undefined as long as no frame has shown a star. */
  follow(image: Image, options: MeasureFrameOptions): FollowedFrame | undefined {
    if (this.#followed.length === 0) return this.#begin(measureFrameKnowing(image, options, () => undefined));
    this.#frames++;
    const refit = this.#frames % this.#options.refitEvery === 0;
    const frame = this.#nearLastPlaces(image, options, refit) ?? this.#everywhere(image, options);
    this.#keep(frame.stars);
    return frame;
  }

  #begin(stars: readonly MeasuredStar[]): FollowedFrame | undefined {
    const usable = stars.filter(({ positions, light }) => positions.centerOfMass.ok && light !== undefined);
    if (usable.length === 0) return undefined;
    this.#all = stars;
    const chosen = usable.slice(0, this.#options.maxStars);
    this.#followed = chosen.map((last) => ({ last, likeness: last.likeness, perBrightest: 1 }));
    this.#keep(chosen);
    return { stars: chosen, searched: true };
  }

  #keep(stars: readonly (MeasuredStar | undefined)[]): void {
    for (const [k, star] of stars.entries()) {
      const one = this.#followed[k];
      if (star === undefined) continue;
      one.last = star;
      if (star.ring.ok || one.likeness === undefined) one.likeness = star.likeness;
      const [own, first] = [one.likeness, this.#followed[0].likeness];
      if (star.ring.ok && own?.kind === 'annulus' && first?.kind === 'annulus')
        one.perBrightest = own.outerDiameterPx / first.outerDiameterPx;
      // A ring that has shrunk to a point is a point.
      if (!star.ring.ok && star.ring.reason === 'no-ring') one.likeness = star.likeness;
    }
  }

  /**
   * Each star looked for where it was last, moved as the brightest has moved; undefined when too few are
   * found.
   */
  #nearLastPlaces(image: Image, options: MeasureFrameOptions, refit: boolean): FollowedFrame | undefined {
    const stars: (MeasuredStar | undefined)[] = [];
    let moved = { x: 0, y: 0 };
    for (const [k, { last }] of this.#followed.entries()) {
      const search: Search = {
        last: last.found,
        x: last.found.x + moved.x,
        y: last.found.y + moved.y,
        reach: this.#options.searchPx / (stars[0] === undefined ? 1 : 2),
      };
      const known: KnownLikeness = (place) =>
        k > 0 && !refit && isWithin(place, search) ? this.#likenessBy(stars[0]?.likeness, k) : undefined;
      const star = this.#starNear(image, options, search, known);
      stars.push(star);
      // Without the brightest, the whole frame tells better than guesses.
      if (star === undefined && k === 0 && this.#followed.length > 1) return undefined;
      if (star !== undefined && k === 0)
        moved = { x: star.found.x - last.found.x, y: star.found.y - last.found.y };
    }
    const seen = stars.filter((star) => star !== undefined).length;
    return 2 * seen < stars.length || seen === 0 ? undefined : { stars, searched: false };
  }

  /** What star k looks like on the frame that shows the brightest as `first`. */
  #likenessBy(first: Likeness | undefined, k: number): Likeness | undefined {
    const own = this.#followed[k].likeness;
    if (first === undefined || own === undefined) return undefined;
    if (first.kind === 'gaussian') return first;
    if (own.kind === 'gaussian') return undefined;
    return { ...own, outerDiameterPx: first.outerDiameterPx * this.#followed[k].perBrightest };
  }

  /**
   * Measure the part of the frame about a star; once more in a larger part as long as the star has outgrown
   * it.
   */
  #starNear(
    image: Image,
    options: MeasureFrameOptions,
    search: Search,
    known: KnownLikeness,
  ): MeasuredStar | undefined {
    let cut = search.last;
    let star: MeasuredStar | undefined;
    for (let n = 0; n < mostCuts; n++) {
      const region = regionAbout(cut, search, this.#all, image);
      if (region === undefined) return star;
      const found = measureFrameKnowing(
        image,
        { ...options, region, maxStars: mostTogether, oneSize: false },
        known,
      );
      star = nearestTo(found, search) ?? star;
      if (star === undefined || star.found.diameterPx < grown * cut.diameterPx) return star;
      cut = star.found;
    }
    return star;
  }

  #everywhere(image: Image, options: MeasureFrameOptions): FollowedFrame {
    const maxStars = Math.max(2 * this.#options.maxStars, 20);
    const found = measureFrameKnowing(image, { ...options, maxStars }, () => undefined);
    const last = this.#followed.map((one) => one.last);
    const tolerance = 2 + 0.1 * Math.max(...last.map((star) => star.found.diameterPx));
    const match = matchStars(last.map(placeOf), found.map(placeOf), tolerance);
    return {
      stars: last.map((_, k) => (match === undefined ? undefined : found[match.partners[k]])),
      searched: true,
    };
  }
}

/** Where a star is looked for on a frame. */
interface Search {
  /** The star when the others were seen. */
  readonly last: FoundStar;
  readonly x: number;
  readonly y: number;
  /** px */
  readonly reach: number;
}

const isWithin = (place: { readonly x: number; readonly y: number }, { x, y, reach }: Search): boolean =>
  (place.x - x) ** 2 + (place.y - y) ** 2 < reach * reach;

const placeOf = ({ found, light }: MeasuredStar): StarPlace => ({
  x: found.x,
  y: found.y,
  fluxE: Math.max(1, light?.fluxE.value ?? found.flux),
});

/** A star that has grown by this factor does not fit the part of the frame that was cut for it. */
const grown = 1.2;
const mostCuts = 4;

function nearestTo(stars: readonly MeasuredStar[], search: Search): MeasuredStar | undefined {
  const squaredDistance = ({ found }: MeasuredStar) => (found.x - search.x) ** 2 + (found.y - search.y) ** 2;
  return stars
    .filter(({ found }) => isWithin(found, search))
    .reduce<MeasuredStar | undefined>(
      (nearest, star) =>
        nearest !== undefined && squaredDistance(nearest) <= squaredDistance(star) ? nearest : star,
      undefined,
    );
}

/**
 * The part of the frame with a star as large as `size`, its sky, and the stars whose light falls into these;
 * undefined beyond the frame.
 */
function regionAbout(
  size: FoundStar,
  { last, x, y, reach }: Search,
  all: readonly MeasuredStar[],
  image: Image,
): FrameRegion | undefined {
  const [dx, dy] = [x - last.x, y - last.y];
  const own = skyRadius(size) + reach;
  let [west, east, north, south] = [x - own, x + own, y - own, y + own];
  for (const { found: other } of all) {
    const far = Math.sqrt((other.x - last.x) ** 2 + (other.y - last.y) ** 2);
    const room = windowRadius(other);
    if (far < 1 || far > own + 2 * room) continue;
    west = Math.min(west, other.x + dx - room);
    east = Math.max(east, other.x + dx + room);
    north = Math.min(north, other.y + dy - room);
    south = Math.max(south, other.y + dy + room);
  }
  const left = Math.max(0, Math.floor(west));
  const top = Math.max(0, Math.floor(north));
  const width = Math.min(imageWidth(image), Math.ceil(east) + 1) - left;
  const height = Math.min(imageHeight(image), Math.ceil(south) + 1) - top;
  return width < 5 || height < 5 ? undefined : { left, top, width, height };
}
