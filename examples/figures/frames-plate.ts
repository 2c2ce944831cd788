/** The part of a frame with a star, as ink on a square plate, and the outlines of its ring. */
import { kthSmallest } from '@holdfast/psf/numerics';
import type { FrameImage, MeasuredStar } from '@holdfast/sim';
import { inkOf } from './inks.ts';

export interface Plate {
  /** Pixels a side. */
  readonly side: number;
  /** Column and row of the frame at the plate's upper left pixel; may lie beyond the frame. */
  readonly left: number;
  readonly top: number;
  /** Ink of each pixel, 0 to 1, row by row; none beyond the frame. */
  readonly density: Float64Array;
}

/** One pixel in two hundred may be brighter than full ink: cosmic rays and hot pixels. */
const fullInk = 0.995;

/** @param levelAdu  of the background around the star: paper */
export function plateOf({ image }: FrameImage, star: MeasuredStar, levelAdu: number): Plate {
  const { ring, light, found } = star;
  const reach = ring.ok
    ? ring.outerDiameterPx.value / 2 + ring.blurFwhmPx.value + 2
    : 2.2 * Math.max(3, light?.halfFluxDiameterPx.value ?? found.diameterPx);
  const half = Math.ceil(Math.min(400, Math.max(6, reach)));
  const side = 2 * half + 1;
  const center = ring.ok ? ring.outerCenter : found;
  const left = Math.round(center.x) - half;
  const top = Math.round(center.y) - half;
  const [height, width] = image.shape as [number, number];
  const values = new Float64Array(side * side).fill(Number.NaN);
  for (let j = 0; j < side; j++)
    for (let i = 0; i < side; i++) {
      const [x, y] = [left + i, top + j];
      if (x >= 0 && x < width && y >= 0 && y < height) values[j * side + i] = image.get(y, x);
    }
  const finite = values.filter((value) => Number.isFinite(value));
  const full = finite.length === 0 ? 1 : kthSmallest(finite, Math.floor(fullInk * (finite.length - 1)));
  const density = values.map((value) =>
    Number.isFinite(value) ? inkOf((value - levelAdu) / Math.max(full - levelAdu, Number.MIN_VALUE)) : 0,
  );
  return { side, left, top, density };
}

export interface Outline {
  readonly x: number;
  readonly y: number;
  readonly radius: number;
  readonly dashed: boolean;
}

/** Outer edge, and the inner one where the hole is resolved. */
export function ringOutlines({ ring }: MeasuredStar): Outline[] {
  if (!ring.ok) return [];
  const { x, y } = ring.outerCenter;
  const outer = { x, y, radius: ring.outerDiameterPx.value / 2, dashed: false };
  if (!ring.holeResolved) return [outer];
  const { holeOffsetPx } = ring;
  return [
    outer,
    {
      x: x + holeOffsetPx.x.value,
      y: y + holeOffsetPx.y.value,
      radius: ring.innerDiameterPx.value / 2,
      dashed: true,
    },
  ];
}
