/**
 * The same stars on frame after frame. The first frame with stars chooses them. On each later frame they are looked for where
 * they were last, in small parts of the frame; where that fails the whole frame is searched and the displacement that most
 * stars share is taken. Rings are fitted anew on every frame for the brightest star, whose focus all share; the others keep
 * their likeness, scaled with it, and have their own rings fitted now and then.
 */
import type { FoundStar } from '@holdfast/centroid';
import type { Image } from '@holdfast/psf';
import { imageHeight, imageWidth } from '@holdfast/psf/internal';
import type { Likeness } from '../stars/likeness.ts';
import {
  type FrameRegion,
  type KnownLikeness,
  type MeasureFrameOptions,
  measureFrameKnowing,
} from '../stars/measure-frame.ts';
import type { MeasuredStar } from '../stars/measured-star.ts';
import { apertureRadius, skyRadius } from '../stars/star-window.ts';
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

export interface Follower {
  /** Undefined as long as no frame has shown a star. */
  follow(image: Image, options: MeasureFrameOptions): FollowedFrame | undefined;
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

export function prepareFollower({ maxStars, searchPx, refitEvery }: FollowOptions): Follower {
  let followed: Followed[] = [];
  /** All stars of the first frame: those beyond `maxStars` disturb, too. */
  let all: readonly MeasuredStar[] = [];
  let frames = 0;

  const begin = (stars: readonly MeasuredStar[]): FollowedFrame | undefined => {
    const usable = stars.filter(({ positions, light }) => positions.centerOfMass.ok && light !== undefined);
    if (usable.length === 0) return undefined;
    all = stars;
    followed = usable.slice(0, maxStars).map((last) => ({ last, likeness: last.likeness, perBrightest: 1 }));
    keep(followed.map(({ last }) => last));
    return { stars: followed.map(({ last }) => last), searched: true };
  };

  const keep = (stars: readonly (MeasuredStar | undefined)[]): void => {
    for (const [k, star] of stars.entries()) {
      const one = followed[k];
      if (star === undefined) continue;
      one.last = star;
      if (star.ring.ok || one.likeness === undefined) one.likeness = star.likeness;
      const [own, first] = [one.likeness, followed[0].likeness];
      if (star.ring.ok && own?.kind === 'annulus' && first?.kind === 'annulus')
        one.perBrightest = own.outerDiameterPx / first.outerDiameterPx;
      // a ring that has shrunk to a point is a point
      if (!star.ring.ok && star.ring.reason === 'no-ring') one.likeness = star.likeness;
    }
  };

  /** What star k looks like on the frame that shows the brightest as `first`. */
  const likenessBy = (first: Likeness | undefined, k: number): Likeness | undefined => {
    const own = followed[k].likeness;
    if (first === undefined || own === undefined) return undefined;
    if (first.kind === 'gaussian') return first;
    if (own.kind === 'gaussian') return undefined;
    return { ...own, outerDiameterPx: first.outerDiameterPx * followed[k].perBrightest };
  };

  const starNear = (
    image: Image,
    options: MeasureFrameOptions,
    last: FoundStar,
    at: { readonly x: number; readonly y: number },
    reach: number,
    known: KnownLikeness,
  ): MeasuredStar | undefined => {
    let cut = last;
    let star: MeasuredStar | undefined;
    for (let n = 0; n < mostCuts; n++) {
      const region = regionAbout(cut, last, at, reach, all, image);
      if (region === undefined) return star;
      const found = measureFrameKnowing(image, { ...options, region, maxStars: mostTogether }, known);
      star = nearestTo(found, at, reach) ?? star;
      if (star === undefined || star.found.diameterPx < grown * cut.diameterPx) return star;
      cut = star.found;
    }
    return star;
  };

  const near = (image: Image, options: MeasureFrameOptions, refit: boolean): FollowedFrame | undefined => {
    const out: (MeasuredStar | undefined)[] = [];
    let [dx, dy] = [0, 0];
    for (const [k, { last }] of followed.entries()) {
      const reach = k === 0 || out[0] === undefined ? searchPx : searchPx / 2;
      const at = { x: last.found.x + dx, y: last.found.y + dy };
      const known: KnownLikeness = ({ x, y }) =>
        k > 0 && !refit && (x - at.x) ** 2 + (y - at.y) ** 2 < reach * reach
          ? likenessBy(out[0]?.likeness, k)
          : undefined;
      const star = starNear(image, options, last.found, at, reach, known);
      out.push(star);
      if (star !== undefined && k === 0)
        [dx, dy] = [star.found.x - last.found.x, star.found.y - last.found.y];
      // without the brightest, the whole frame tells better than guesses
      if (star === undefined && k === 0 && followed.length > 1) return undefined;
    }
    const seen = out.filter((star) => star !== undefined).length;
    return 2 * seen < followed.length || seen === 0 ? undefined : { stars: out, searched: false };
  };

  const everywhere = (image: Image, options: MeasureFrameOptions): FollowedFrame => {
    const found = measureFrameKnowing(image, options, () => undefined);
    const tolerance = 2 + 0.1 * Math.max(...followed.map(({ last }) => last.found.diameterPx));
    const match = matchStars(
      followed.map(({ last }) => placeOf(last)),
      found.map(placeOf),
      tolerance,
    );
    return {
      stars: followed.map((_, k) => (match === undefined ? undefined : found[match.partners[k]])),
      searched: true,
    };
  };

  return {
    follow(image, options) {
      if (followed.length === 0) return begin(measureFrameKnowing(image, options, () => undefined));
      frames++;
      const frame =
        near(image, options, frames % refitEvery === 0) ??
        everywhere(image, { ...options, maxStars: Math.max(2 * maxStars, 20) });
      keep(frame.stars);
      return frame;
    },
  };
}

const placeOf = ({ found, light }: MeasuredStar): StarPlace => ({
  x: found.x,
  y: found.y,
  fluxE: Math.max(1, light?.fluxE.value ?? found.flux),
});

/** A star that has grown by this factor does not fit the part of the frame that was cut for it. */
const grown = 1.2;
const mostCuts = 4;

function nearestTo(
  stars: readonly MeasuredStar[],
  at: { readonly x: number; readonly y: number },
  reach: number,
): MeasuredStar | undefined {
  let [nearest, least2]: [MeasuredStar | undefined, number] = [undefined, reach * reach];
  for (const star of stars) {
    const far2 = (star.found.x - at.x) ** 2 + (star.found.y - at.y) ** 2;
    if (far2 < least2) [nearest, least2] = [star, far2];
  }
  return nearest;
}

/**
 * The part of the frame with a star as large as `size`, its sky, and the stars whose light falls into these; undefined beyond
 * the frame.
 *
 * @param last  where the star was when the others were seen
 */
function regionAbout(
  size: FoundStar,
  last: FoundStar,
  at: { readonly x: number; readonly y: number },
  reach: number,
  all: readonly MeasuredStar[],
  image: Image,
): FrameRegion | undefined {
  const [dx, dy] = [at.x - last.x, at.y - last.y];
  const own = skyRadius(size) + reach;
  let [west, east, north, south] = [at.x - own, at.x + own, at.y - own, at.y + own];
  for (const { found: other } of all) {
    const far = Math.sqrt((other.x - last.x) ** 2 + (other.y - last.y) ** 2);
    const room = apertureRadius(other);
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
