/** Light that was taken out of a frame at one place: how much of it lay in any rectangle. */
import { boxSum, summedArea } from './summed-area.ts';

/** What columns left to right - 1 and rows top to bottom - 1 have lost. */
export interface RemovedLight {
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
  /** Summed-area table of the loss. */
  readonly table: Float64Array;
}

/** @param loss  electrons lost in each pixel of the rectangle, row by row */
export function removedLight(
  loss: Float64Array,
  left: number,
  top: number,
  width: number,
  height: number,
): RemovedLight {
  return {
    left,
    top,
    right: left + width,
    bottom: top + height,
    table: summedArea(loss, width, height),
  };
}

/** The loss in columns left to right - 1 and rows top to bottom - 1 of the frame. */
export function removedSum(
  patch: RemovedLight,
  left: number,
  top: number,
  right: number,
  bottom: number,
): number {
  const l = Math.max(left, patch.left);
  const r = Math.min(right, patch.right);
  const t = Math.max(top, patch.top);
  const b = Math.min(bottom, patch.bottom);
  if (l >= r || t >= b) return 0;
  const stride = patch.right - patch.left + 1;
  return boxSum(patch.table, stride, l - patch.left, t - patch.top, r - patch.left, b - patch.top);
}
