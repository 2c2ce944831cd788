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

/** Have room for every pixel within `reach` of a place. */
function makeRoom(reach: number): void {
  const most = (2 * reach + 2) ** 2;
  if (scratch.r.length < most) scratch = makeScratch(2 * most);
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
  makeRoom(outer);
  const { dx, dy, value } = scratch;
  const inner2 = inner * inner;
  const outer2 = outer * outer;
  const bottom = Math.min(height - 1, Math.floor(y + outer));
  let count = 0;
  for (let j = Math.max(0, Math.ceil(y - outer)); j <= bottom; j++) {
    const y2 = (j - y) ** 2;
    // Half the chords of both circles, but for a pixel at either end, where rounding decides
    const half = Math.sqrt(Math.max(0, outer2 - y2)) + 1;
    const hole = y2 < inner2 ? Math.sqrt(inner2 - y2) - 1 : 0;
    // Whole numbers to the engine: in others it would count columns twice as slowly.
    const left = Math.max(0, Math.ceil(x - half)) | 0;
    const right = Math.min(width - 1, Math.floor(x + half)) | 0;
    const holeLeft = hole > 0 ? Math.max(left, Math.floor(x - hole) + 1) | 0 : -1;
    const holeRight = Math.max(holeLeft, Math.floor(x + hole)) | 0;
    const row = j * width;
    for (let i = left; i <= right; i++) {
      if (i === holeLeft) i = holeRight;
      const v = pixels[row + i];
      const r2 = (i - x) ** 2 + y2;
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
  makeRoom(reach);
  const { dx, dy, value, r } = scratch;
  const reach2 = reach * reach;
  const bottom = Math.min(height - 1, Math.floor(y + reach));
  let count = 0;
  for (let j = Math.max(0, Math.ceil(y - reach)); j <= bottom; j++) {
    const y2 = (j - y) ** 2;
    const half = Math.sqrt(Math.max(0, reach2 - y2)) + 1;
    const left = Math.max(0, Math.ceil(x - half)) | 0;
    const right = Math.min(width - 1, Math.floor(x + half)) | 0;
    const row = j * width;
    for (let i = left; i <= right; i++) {
      const v = pixels[row + i];
      const r2 = (i - x) ** 2 + y2;
      if (r2 > reach2 || !Number.isFinite(v)) continue;
      dx[count] = i - x;
      dy[count] = j - y;
      r[count] = Math.sqrt(r2);
      value[count] = v - level - slopeX * (i - x0) - slopeY * (j - y0);
      count++;
    }
  }
  scratch.count = count;
  return scratch;
}
