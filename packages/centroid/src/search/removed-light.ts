/** Light that was taken out of a frame at one place: how much of it lay in any rectangle. */
import { boxSum, summedArea } from '@holdfast/psf/numerics';

/** What columns left to right - 1 and rows top to bottom - 1 have lost. */
export interface RemovedLight {
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
  /** Electrons lost in each pixel, row by row. */
  readonly loss: Float64Array;
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
    loss,
    table: summedArea(loss, width, height),
  };
}

/** Put back what was taken out of a frame; of lights that overlap the last one first. */
export function restoreLight(pixels: Float32Array, width: number, light: RemovedLight): void {
  const { left, top, right, bottom, loss } = light;
  for (let y = top, at = 0; y < bottom; y++)
    for (let x = left; x < right; x++, at++) pixels[y * width + x] += loss[at];
}

/** All that was taken out so far. */
export class RemovedLights {
  readonly #lights: RemovedLight[] = [];
  /** Left, top, right and bottom of each, one after the other: most are only looked at and passed over. */
  readonly #bounds: number[] = [];

  add(light: RemovedLight): void {
    this.#lights.push(light);
    this.#bounds.push(light.left, light.top, light.right, light.bottom);
  }

  /**
   * The first from number `from` on that reaches into columns left to right and rows top to bottom; -1 when
   * there is none.
   */
  next(from: number, left: number, top: number, right: number, bottom: number): number {
    const bounds = this.#bounds;
    for (let at = 4 * from; at < bounds.length; at += 4)
      if (bounds[at] <= right && bounds[at + 2] > left && bounds[at + 1] <= bottom && bounds[at + 3] > top)
        return at / 4;
    return -1;
  }

  /** What number k lost in columns left to right - 1 and rows top to bottom - 1 of the frame. */
  sum(k: number, left: number, top: number, right: number, bottom: number): number {
    const light = this.#lights[k];
    const l = Math.max(left, light.left);
    const r = Math.min(right, light.right);
    const t = Math.max(top, light.top);
    const b = Math.min(bottom, light.bottom);
    if (l >= r || t >= b) return 0;
    const stride = light.right - light.left + 1;
    return boxSum(light.table, stride, l - light.left, t - light.top, r - light.left, b - light.top);
  }
}
