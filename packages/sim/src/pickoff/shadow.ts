/**
 * The shadow of a pick-off on the main sensor: which share of a pixel's cone of light the mirror takes away.
 *
 * A ray from the exit pupil to the point s of the focal plane passes the height z above it at u, and meets
 * the pupil at
 *
 *   q = (2 F / z) (u - s (1 - z / P))        in pupil radii; P = distance from the exit pupil
 *
 * along each axis. So straight edges have straight shadows in the pupil, and the tilted mirror, which stands
 * from the height `innerHeight` at its inner edge to `outerHeight` at its outer one, is a trapezium there.
 * Its area within the pupil's annulus is the light that it takes from s, and that a star at s would send to
 * the guide camera: one and the same number.
 *
 * The mirror is thin and its mount no wider than itself; a prism's inner edge is that of its reflecting face.
 */
import { unitVector } from '@holdfast/psf/numerics';
import type { PickoffGeometry } from './pickoff-geometry.ts';
import { clipPolygon, polygonDiscArea } from './shadow-polygon.ts';

/**
 * A point of the focal plane in the mirror's own axes, mm: along from the axis toward the mirror, across it.
 */
export interface FocalPoint {
  readonly along: number;
  readonly across: number;
}

/**
 * The mirror as seen from a point of the focal plane: four corners in pupil radii, from +along toward
 * +across.
 */
export function mirrorInPupil(
  { fNumber, convergence, innerHeight, outerHeight, halfWidth, depth }: PickoffGeometry,
  edge: number,
  { along, across }: FocalPoint,
): Float64Array {
  const inner = (2 * fNumber) / innerHeight;
  const outer = (2 * fNumber) / outerHeight;
  const towardInner = 1 - innerHeight * convergence;
  const towardOuter = 1 - outerHeight * convergence;
  const innerAlong = inner * (edge - along * towardInner);
  const outerAlong = outer * (edge + depth - along * towardOuter);
  return Float64Array.of(
    innerAlong,
    inner * (-halfWidth - across * towardInner),
    outerAlong,
    outer * (-halfWidth - across * towardOuter),
    outerAlong,
    outer * (halfWidth - across * towardOuter),
    innerAlong,
    inner * (halfWidth - across * towardInner),
  );
}

/** Share of the light for a point that meets the mirror, 0 to 1: what the main sensor loses there. */
export function takenFraction(geometry: PickoffGeometry, edge: number, point: FocalPoint): number {
  const mirror = mirrorInPupil(geometry, edge, point);
  // Most of a sensor lies clear of the mirror's inner edge.
  return mirror[0] >= 1 ? 0 : shareOfPupil(mirror, geometry.obstructionRatio);
}

/**
 * Share of a star's light that passes the opening and meets the mirror: what the guide camera gets. The
 * opening's circle is taken as straight sides that touch it, so many that the share is good to 0.0003.
 */
export function keptFraction(geometry: PickoffGeometry, edge: number, point: FocalPoint): number {
  const { fNumber, convergence, flangeDistance, opening, obstructionRatio } = geometry;
  const scale = (2 * fNumber) / flangeDistance;
  const toward = -scale * (1 - flangeDistance * convergence);
  const center = { x: toward * point.along, y: toward * point.across };
  const radius = (scale * opening) / 2;
  let corners = mirrorInPupil(geometry, edge, point);
  if (Math.sqrt(center.x ** 2 + center.y ** 2) + 1 > radius)
    for (const { x, y } of sidesTowardPupil(center))
      corners = clipPolygon(corners, x, y, center.x * x + center.y * y + radius);
  return shareOfPupil(corners, obstructionRatio);
}

const sideCount = 96;

/**
 * Directions from the center of a circle in which to touch it: all around, or when it is far off, where the
 * pupil lies.
 */
function sidesTowardPupil(center: { readonly x: number; readonly y: number }): { x: number; y: number }[] {
  const far = Math.sqrt(center.x ** 2 + center.y ** 2);
  if (far < 1.5) return Array.from({ length: sideCount }, (_, k) => unitVector((360 * k) / sideCount));
  return Array.from({ length: sideCount }, (_, k) => {
    const aside = 1.5 * ((2 * k) / (sideCount - 1) - 1);
    const length = Math.sqrt(far * far + aside * aside);
    return {
      x: (-center.x - (aside * center.y) / far) / length,
      y: (-center.y + (aside * center.x) / far) / length,
    };
  });
}

/** Share of an annular pupil's area that lies in a polygon in pupil radii, 0 to 1. */
export function shareOfPupil(corners: Float64Array, obstructionRatio: number): number {
  const open = polygonDiscArea(corners, 1) - polygonDiscArea(corners, obstructionRatio);
  const whole = Math.PI * (1 - obstructionRatio * obstructionRatio);
  // Rounding leaves some 1e-16 where nothing or all should be.
  if (open < 1e-12 * whole) return 0;
  return open > (1 - 1e-12) * whole ? 1 : open / whole;
}
