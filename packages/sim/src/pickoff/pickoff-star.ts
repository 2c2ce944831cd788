/**
 * The guide star of a pick-off: how far off the axis it is, which part of its light arrives, and in which
 * shape.
 */
import { type OffAxisAberrations, offAxisAberrations, type Pupil, pupilMoments } from '@holdfast/psf';
import { unitVector } from '@holdfast/psf/numerics';
import { starOfMiddle } from './pickoff-depth.ts';
import type { PickoffGeometry } from './pickoff-geometry.ts';
import type { PickoffOptions } from './pickoff-options.ts';
import { keptFraction, mirrorInPupil, shareOfPupil, takenFraction } from './shadow.ts';
import { clipPolygon } from './shadow-polygon.ts';

export interface PickoffStar {
  /** Distance from the axis in the main focal plane, mm. */
  readonly offAxisMm: number;
  /**
   * Share of the star's light, as the telescope would focus it, that reaches the guide camera: 1 when nothing
   * is clipped.
   */
  readonly keptFraction: number;
  /** Share that meets the mirror, were the opening wide enough. */
  readonly onMirrorFraction: number;
  /**
   * What the light passes, for the pupil of a diffraction or ray image, along the axes of the main sensor:
   * the mirror as a rectangle (its sides, which taper, taken parallel) and the opening as a straight edge,
   * which leave as much light as they. Undefined when less than 0.1 % of the light arrives.
   */
  readonly pupil: Pupil | undefined;
  /**
   * How far the center of mass of the star walks along the direction to the axis for each um of focus shift,
   * um: a clipped pupil is not symmetric, so focus looks like motion. > 0 away from the axis.
   */
  readonly walkPerFocus: number;
  /** Coma, astigmatism and field curvature by the telescope's design; undefined when that is not given. */
  readonly aberrations: OffAxisAberrations | undefined;
}

/** Less light than this makes no image; and an opening that takes less than this does not cut. */
const leastShare = 0.001;

/** The guide star of a pick-off whose inner edge stands at `edge`. */
export function pickoffStar(options: PickoffOptions, geometry: PickoffGeometry, edge: number): PickoffStar {
  const { apertureMm, focalLengthMm, angleDeg = 90, design } = options;
  const offAxisMm = options.starOffAxisMm ?? starOfMiddle(geometry, edge);
  const star = { along: offAxisMm, across: 0 };
  const kept = keptFraction(geometry, edge, star);
  const onMirror = takenFraction(geometry, edge, star);
  const pupil =
    kept < leastShare
      ? undefined
      : clippedPupil(geometry, mirrorInPupil(geometry, edge, star), angleDeg, { kept, onMirror });
  return {
    offAxisMm,
    keptFraction: kept,
    onMirrorFraction: onMirror,
    pupil,
    walkPerFocus: pupil ? walkPerFocus(pupil, geometry.fNumber, angleDeg) : 0,
    aberrations: design && offAxisAberrations({ ...design, apertureMm, focalLengthMm, offAxisMm, angleDeg }),
  };
}

/**
 * A focus shift dz sends the pupil point q to -(dz / 2 F) q: beyond focus the ring is the pupil upside down.
 */
function walkPerFocus(pupil: Pupil, fNumber: number, angleDeg: number): number {
  const { x, y } = pupilMoments(pupil);
  const along = unitVector(angleDeg);
  return -(x * along.x + y * along.y) / (2 * fNumber);
}

/**
 * Rectangle and straight edge in the pupil, each such that it leaves the light that the true mirror and
 * opening leave.
 */
function clippedPupil(
  { obstructionRatio }: PickoffGeometry,
  mirror: Float64Array,
  angleDeg: number,
  { kept, onMirror }: { readonly kept: number; readonly onMirror: number },
): Pupil {
  const inner = mirror[0];
  const outer = mirror[2];
  const rectangle = (half: number) => Float64Array.of(inner, -half, outer, -half, outer, half, inner, half);
  const share = (corners: Float64Array) => shareOfPupil(corners, obstructionRatio);
  const half = whereReached(onMirror, 0, 1, (height) => share(rectangle(height)));
  const isCut = onMirror - kept > leastShare;
  const rim = whereReached(kept, -1, 1, (edge) => share(clipPolygon(rectangle(half), 1, 0, edge)));
  const { x, y } = unitVector(angleDeg);
  const middle = (inner + outer) / 2;
  const footprint = { width: outer - inner, height: 2 * half, x: middle * x, y: middle * y, angleDeg };
  return {
    obstructionRatio,
    ...(inner <= -1 && outer >= 1 && half >= 1 ? {} : { footprint }),
    ...(isCut ? { clip: { distance: rim, angleDeg } } : {}),
  };
}

/** Where a growing share reaches a value, between `low` and `high`; `high` when it does not before. */
function whereReached(value: number, low: number, high: number, share: (at: number) => number): number {
  if (share(high) <= value) return high;
  let below = low;
  let above = high;
  while (above - below > 1e-10) {
    const middle = (below + above) / 2;
    if (share(middle) < value) below = middle;
    else above = middle;
  }
  return above;
}
