/** How deep a pick-off may reach into the beam, by its rotation around the main sensor. */
import { angleFrom } from '@holdfast/psf/numerics';
import type { PickoffGeometry } from './pickoff-geometry.ts';
import { worstPixel } from './shadow-worst.ts';

/** The deepest place for one rotation. */
export interface DeepestPlace {
  /** Direction from the axis to the mirror, degrees from the sensor's width toward its height. */
  readonly angleDeg: number;
  /**
   * Least distance of the mirror's inner edge from the axis, mm; 0 when even there no pixel loses more than
   * allowed.
   */
  readonly edgeFromAxisMm: number;
  /**
   * Distance from the axis of the star that the mirror's middle then reflects, mm in the main focal plane.
   */
  readonly starOffAxisMm: number;
}

/** Resolution of the edge, mm. */
const resolution = 1e-4;

/**
 * The least edge distance at which no pixel of the main sensor loses more than `allowedLoss`, by bisection:
 * the farther out the mirror, the less it shades.
 */
export function deepestPlace(geometry: PickoffGeometry, angleDeg: number, allowedLoss: number): DeepestPlace {
  const isAllowed = (edge: number): boolean => worstPixel(geometry, edge, angleDeg).loss <= allowedLoss;
  const { halfWidth, halfHeight } = geometry.sensor;
  let inside = 0;
  // No point of the sensor is farther from the axis than its corner, nor its cone wider than at the inner
  // edge.
  let outside =
    Math.sqrt(halfWidth * halfWidth + halfHeight * halfHeight) +
    geometry.innerHeight / (2 * geometry.fNumber);
  if (isAllowed(0)) outside = 0;
  while (outside - inside > resolution) {
    const middle = (inside + outside) / 2;
    if (isAllowed(middle)) outside = middle;
    else inside = middle;
  }
  return { angleDeg, edgeFromAxisMm: outside, starOffAxisMm: starOfMiddle(geometry, outside) };
}

/**
 * Distance from the axis, in the main focal plane, of the star whose chief ray meets the mirror's middle, mm.
 */
export function starOfMiddle({ depth, distance, convergence }: PickoffGeometry, edge: number): number {
  return (edge + depth / 2) / (1 - distance * convergence);
}

/**
 * The deepest place every 5 degrees over a quarter turn, and toward the corner; the other quarters mirror it.
 */
export function depthByRotation(geometry: PickoffGeometry, allowedLoss: number): DeepestPlace[] {
  const { halfWidth, halfHeight } = geometry.sensor;
  const corner = (180 / Math.PI) * angleFrom(1, 0, halfWidth, halfHeight);
  const angles = Array.from({ length: 19 }, (_, i) => 5 * i);
  return [...angles, corner].sort((a, b) => a - b).map((angle) => deepestPlace(geometry, angle, allowedLoss));
}
