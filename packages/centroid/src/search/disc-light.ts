/** The light of a round part of a frame above a level that may slope. */

/** Level at a place, electrons per pixel, and its slopes, per px. */
export interface LightLevel {
  readonly x: number;
  readonly y: number;
  readonly level: number;
  readonly slopeX: number;
  readonly slopeY: number;
}

/** Pixels about a place; the arrays are valid until the next disc. */
export interface DiscLight {
  readonly count: number;
  /** Distance from the place, px. */
  readonly r: Float64Array;
  /** Light above the level, electrons. */
  readonly value: Float64Array;
  /** Column and row from the place. */
  readonly dx: Float64Array;
  readonly dy: Float64Array;
}

/** Held between calls, of which a search makes thousands. */
let scratch = makeScratch(0);

function makeScratch(capacity: number) {
  const arrays = [0, 1, 2, 3].map(() => new Float64Array(capacity));
  return { r: arrays[0], value: arrays[1], dx: arrays[2], dy: arrays[3] };
}

/** Every usable pixel within `reach` of (x, y), above the level that was found about the star. */
export function discLight(
  pixels: Float32Array,
  width: number,
  height: number,
  { x: x0, y: y0, level, slopeX, slopeY }: LightLevel,
  x: number,
  y: number,
  reach: number,
): DiscLight {
  const most = (2 * Math.ceil(reach) + 1) ** 2;
  if (scratch.r.length < most) scratch = makeScratch(2 * most);
  const { r, value, dx, dy } = scratch;
  const bottom = Math.min(height - 1, Math.floor(y + reach));
  let count = 0;
  for (let j = Math.max(0, Math.ceil(y - reach)); j <= bottom; j++) {
    const y2 = (j - y) ** 2;
    // Half a chord, and more than rounding adds to it
    const half = Math.sqrt(Math.max(0, reach * reach - y2)) + 1e-3;
    const right = Math.min(width - 1, Math.floor(x + half));
    for (let i = Math.max(0, Math.ceil(x - half)); i <= right; i++) {
      const distance = Math.sqrt((i - x) ** 2 + y2);
      const light = pixels[j * width + i] - level - slopeX * (i - x0) - slopeY * (j - y0);
      if (!(distance < reach && Number.isFinite(light))) continue;
      r[count] = distance;
      value[count] = light;
      dx[count] = i - x;
      dy[count] = j - y;
      count++;
    }
  }
  return { count, r, value, dx, dy };
}
