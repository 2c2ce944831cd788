/** The light of a round part of a frame. */

/** Level at a place, electrons per pixel, and its slopes, per px. */
export interface LightLevel {
  readonly x: number;
  readonly y: number;
  readonly level: number;
  readonly slopeX: number;
  readonly slopeY: number;
}

/** Usable pixels about a place; the arrays are valid until the next call. */
export interface NearbyLight {
  count: number;
  /** Column and row from the place. */
  readonly dx: Float64Array;
  readonly dy: Float64Array;
  /** Electrons. */
  readonly value: Float64Array;
  /** Distance from the place, px; of a disc only. */
  readonly r: Float64Array;
}

/** Held between calls, of which a search makes thousands. */
let scratch = makeScratch(0);

function makeScratch(capacity: number): NearbyLight {
  const [dx, dy, value, r] = [0, 1, 2, 3].map(() => new Float64Array(capacity));
  return { count: 0, dx, dy, value, r };
}

/** Every usable pixel whose distance from (x, y) lies from `inner` to `outer`, as it is. */
export function ringLight(
  pixels: Float32Array,
  width: number,
  height: number,
  x: number,
  y: number,
  inner: number,
  outer: number,
): NearbyLight {
  const most = (2 * outer + 2) ** 2;
  if (scratch.r.length < most) scratch = makeScratch(2 * most);
  const { dx, dy, value } = scratch;
  const inner2 = inner * inner;
  const outer2 = outer * outer;
  const bottom = Math.min(height - 1, Math.floor(y + outer));
  let count = 0;
  for (let j = Math.max(0, Math.ceil(y - outer)); j <= bottom; j++) {
    const y2 = (j - y) ** 2;
    // Half the chords of both circles, but for a pixel at either end, where rounding decides
    const half = Math.sqrt(Math.max(0, outer2 - y2)) + 1;
    const hole = y2 < inner2 ? Math.sqrt(inner2 - y2) - 1 : -1;
    const right = Math.min(width - 1, x + half);
    for (let i = Math.max(0, Math.ceil(x - half)); i <= right; i++) {
      if (i > x - hole && i < x + hole) i = Math.floor(x + hole);
      const r2 = (i - x) ** 2 + y2;
      const v = pixels[j * width + i];
      if (r2 < inner2 || r2 > outer2 || !Number.isFinite(v)) continue;
      dx[count] = i - x;
      dy[count] = j - y;
      value[count] = v;
      count++;
    }
  }
  scratch.count = count;
  return scratch;
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
): NearbyLight {
  const light = ringLight(pixels, width, height, x, y, 0, reach);
  const { count, dx, dy, value, r } = light;
  for (let k = 0; k < count; k++) {
    r[k] = Math.sqrt(dx[k] ** 2 + dy[k] ** 2);
    // Columns and rows are whole: a star in a level field keeps its digits.
    value[k] =
      value[k] - level - slopeX * (Math.round(dx[k] + x) - x0) - slopeY * (Math.round(dy[k] + y) - y0);
  }
  return light;
}
