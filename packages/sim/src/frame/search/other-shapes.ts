/** What else a light may be: larger or smaller than the stars, a galaxy, the middle of a shadow. */
import type { FrameLight } from '@holdfast/centroid/internal';
import type { CommonShape, RejectReason } from './common-shape.ts';
import { exponentialProfile, type Match, matchAt, profileLength, type StarProfile } from './star-profile.ts';

/** Why another shape suits a light clearly better than that of the stars; undefined where none does. */
export function unlikeShape(
  frame: FrameLight,
  { x, y, significance }: Match,
  { profile, concentration, diameterPx }: CommonShape,
): RejectReason | undefined {
  // chi-square is lower by 25: the best of so many places and sizes is often better by 16
  const clearly = significance + Math.max(12.5 / significance, 0.02 * significance);
  const suits = (shape: StarProfile, ...scales: number[]): boolean =>
    scales.some((scale) => {
      const step = 0.08 * scale * profile.reachPx;
      return near.some(
        ([across, down]) => matchAt(frame, x + across * step, y + down * step, shape, scale) > clearly,
      );
    });
  if (suits(profile, 1.3, 1.7)) return 'larger';
  if (suits(profile, 0.5)) return 'smaller';
  if (concentration > leastOfRing && suits(exponentialProfile(profile), 0.6, 1, 1.6)) return 'other-profile';
  return isWithinShadow(frame, { x, y, significance }, diameterPx) ? 'shapeless' : undefined;
}

/**
 * Whether a light is the middle of a dark ring: dust near the sensor casts a shadow of the shape of the
 * telescope's pupil, an annulus, whose middle looks like a star. Of the two the likelier one counts.
 */
function isWithinShadow(frame: FrameLight, { x, y, significance }: Match, diameterPx: number): boolean {
  const shadow = shadowProfile(diameterPx);
  const step = 0.15 * diameterPx;
  return shadowScales.some((scale) => {
    const here = matchAt(frame, x, y, shadow, scale);
    // a little aside a shadow stands out more, but not twice as much; most lights are stars
    if (here > significance || here < significance / 2) return here > significance;
    return around.some(
      ([across, down]) => matchAt(frame, x + across * step, y + down * step, shadow, scale) > significance,
    );
  });
}

/** Where else a shadow is tried, in steps about the star. */
const around = [-1, 0, 1].flatMap((across) => [-1, 0, 1].map((down) => [across, down]));

/** Sizes of a shadow: its hole is about as large as the star. */
const shadowScales = [0.85, 1, 1.2, 1.4];
const shadowPerStar = 1.25;
/** Of a shadow, as of the telescopes that cast it. */
const obstruction = 0.4;

function shadowProfile(diameterPx: number): StarProfile {
  const reachPx = shadowPerStar * diameterPx;
  const values = new Float64Array(profileLength(reachPx)).fill(-1);
  return { values: values.fill(0, 0, Math.round((values.length - 1) * obstruction)), reachPx };
}

/** Where another shape is tried, in steps about the star. */
const near = [-2, -1, 0, 1, 2].flatMap((across) => [-2, -1, 0, 1, 2].map((down) => [across, down]));

/** A ring's light is less concentrated than this: a star in focus would pass for a galaxy. */
const leastOfRing = 0.65;
