/** The pixel of the main sensor that loses most to the pick-off. */
import { unitVector } from '@holdfast/psf/numerics';
import type { PickoffGeometry } from './pickoff-geometry.ts';
import { takenFraction } from './shadow.ts';

export interface WorstPixel {
  /** Share of its light that it loses, 0 to 1. */
  readonly loss: number;
  /** Place from the middle of the sensor, mm along its width and height. */
  readonly xMm: number;
  readonly yMm: number;
}

/** Points of the first look along each side, and where the finer search ends, mm. */
const points = 13;
const finest = 0.001;

/**
 * Largest loss on the sensor: a look at 13 x 13 points, then steps that halve, from the best of them to a
 * micrometer.
 *
 * @param angleDeg  direction of the mirror from the axis
 */
export function worstPixel(geometry: PickoffGeometry, edge: number, angleDeg: number): WorstPixel {
  const { halfWidth, halfHeight } = geometry.sensor;
  const { x: cosine, y: sine } = unitVector(angleDeg);
  const lossAt = (x: number, y: number): number =>
    takenFraction(geometry, edge, { along: x * cosine + y * sine, across: y * cosine - x * sine });
  let best = { loss: -1, xMm: 0, yMm: 0 };
  const look = (x: number, y: number): boolean => {
    const xMm = Math.max(-halfWidth, Math.min(halfWidth, x));
    const yMm = Math.max(-halfHeight, Math.min(halfHeight, y));
    const loss = lossAt(xMm, yMm);
    if (loss <= best.loss) return false;
    best = { loss, xMm, yMm };
    return true;
  };
  for (let i = 0; i < points; i++)
    for (let j = 0; j < points; j++)
      look(halfWidth * ((2 * i) / (points - 1) - 1), halfHeight * ((2 * j) / (points - 1) - 1));
  if (best.loss <= 0 || best.loss >= 1) return best;
  for (let step = (2 * Math.max(halfWidth, halfHeight)) / (points - 1); step > finest; step /= 2) {
    let moved = true;
    while (moved) {
      const { xMm, yMm } = best;
      moved = false;
      for (const [dx, dy] of directions) moved = look(xMm + step * dx, yMm + step * dy) || moved;
    }
  }
  return best;
}

const directions = [
  [1, 0],
  [-1, 0],
  [0, 1],
  [0, -1],
  [1, 1],
  [-1, -1],
  [1, -1],
  [-1, 1],
] as const;
