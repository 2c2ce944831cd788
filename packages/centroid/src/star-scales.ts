/**
 * Where light stands out, at which scale: for boxes of growing side, the light inside against that around, in units of its
 * noise. Points answer to the smallest box, a ring to the box that just holds it. Light around is taken in a box twice as
 * wide, so that a level or slope of the background gives nothing.
 */
import { boxSum, summedArea } from './summed-area.ts';

/** A place where a box holds more light than its surroundings. */
export interface Candidate {
  x: number;
  y: number;
  /** Side of the box, px, odd. */
  side: number;
  /** Contrast over its noise. */
  significance: number;
}

/** Sums over pixels and, where some are missing, over their number. */
interface ContrastTables {
  readonly width: number;
  readonly height: number;
  readonly light: Float64Array;
  readonly number: Float64Array | undefined;
  /** Noise of a pixel, electrons. */
  readonly sigma: number;
}

/** Least share of a box that must be usable pixels, and least number of pixels around it for each inside. */
const leastFilled = 0.6;
const leastAround = 0.5;

/**
 * All places, at all box sides up to the largest light looked for, where the contrast has a local maximum of at least
 * `least`. Non-finite pixels are left out.
 */
export function findCandidates(
  pixels: Float64Array,
  width: number,
  height: number,
  sigma: number,
  least: number,
  largestDiameterPx: number,
): Candidate[] {
  const light = pixels.slice();
  const usable = new Uint8Array(pixels.length).fill(1);
  let missing = false;
  for (let k = 0; k < light.length; k++)
    if (light[k] - light[k] !== 0) {
      light[k] = 0;
      usable[k] = 0;
      missing = true;
    }
  const tables: ContrastTables = {
    width,
    height,
    sigma,
    light: summedArea(light, width, height),
    number: missing ? summedArea(usable, width, height) : undefined,
  };
  const found: Candidate[] = [];
  for (const side of boxSides(largestDiameterPx))
    if (side < Math.min(width, height)) findContrasts(found, tables, side, least);
  return found;
}

/** Sides of the boxes, px: odd, a factor of about 1.4 apart, up to the largest light looked for. */
function boxSides(largestDiameterPx: number): number[] {
  const sides = [3];
  for (let side = 3; side < largestDiameterPx; ) {
    side = Math.max(side + 2, 2 * Math.round(0.7 * side) + 1);
    sides.push(side);
  }
  return sides;
}

/**
 * Contrast of the box of `side` about (x, y) over its noise; -Infinity where too much of box or surroundings is missing.
 * Near an edge both are cut on the far side too: only what is symmetric about (x, y) is blind to a slope.
 */
function contrast(
  { width, height, light, number, sigma }: ContrastTables,
  x: number,
  y: number,
  side: number,
): number {
  const half = (side - 1) / 2;
  const stride = width + 1;
  const reachX = Math.min(x, width - 1 - x);
  const reachY = Math.min(y, height - 1 - y);
  const w = Math.min(half, reachX);
  const h = Math.min(half, reachY);
  const W = Math.min(side, reachX);
  const H = Math.min(side, reachY);
  const inside = boxSum(light, stride, x - w, y - h, x + w + 1, y + h + 1);
  const around = boxSum(light, stride, x - W, y - H, x + W + 1, y + H + 1) - inside;
  let n = (2 * w + 1) * (2 * h + 1);
  let m = (2 * W + 1) * (2 * H + 1) - n;
  if (number !== undefined) {
    n = boxSum(number, stride, x - w, y - h, x + w + 1, y + h + 1);
    m = boxSum(number, stride, x - W, y - H, x + W + 1, y + H + 1) - n;
  }
  return significanceOf(inside, n, around, m, side, sigma);
}

/** Fill `out` with the contrasts of one row at every step-th column. Where the box has all its room, without cases. */
function fillRow(out: Float64Array, tables: ContrastTables, y: number, side: number, step: number): void {
  const { width, height, light, number, sigma } = tables;
  const columns = Math.ceil(width / step);
  const roomy = number === undefined && y >= side && y + side < height;
  const first = roomy ? Math.min(columns, Math.ceil(side / step)) : columns;
  const last = roomy ? Math.floor((width - 1 - side) / step) : -1;
  for (let i = 0; i < first; i++) out[i + 1] = contrast(tables, i * step, y, side);
  for (let i = Math.max(first, last + 1); i < columns; i++) out[i + 1] = contrast(tables, i * step, y, side);
  if (last < first) return;
  const stride = width + 1;
  const half = (side - 1) / 2;
  const n = side * side;
  const m = (2 * side + 1) ** 2 - n;
  const scale = 1 / (sigma * Math.sqrt(n * (1 + n / m)));
  const t = (y - half) * stride;
  const b = (y + half + 1) * stride;
  const T = (y - side) * stride;
  const B = (y + side + 1) * stride;
  for (let i = first; i <= last; i++) {
    const x = i * step;
    const l = x - half;
    const r = x + half + 1;
    const L = x - side;
    const R = x + side + 1;
    const inside = light[b + r] - light[b + l] - light[t + r] + light[t + l];
    const all = light[B + R] - light[B + L] - light[T + R] + light[T + L];
    out[i + 1] = (inside - (n * (all - inside)) / m) * scale;
  }
}

/** Light inside against that around: n pixels inside, m around. */
function significanceOf(
  inside: number,
  n: number,
  around: number,
  m: number,
  side: number,
  sigma: number,
): number {
  if (n < leastFilled * side * side || m < leastAround * n) return -Infinity;
  return (inside - (n * around) / m) / (sigma * Math.sqrt(n * (1 + n / m)));
}

/** The contrast of a candidate on pixels as they stand now, summed directly. */
export function contrastNow(
  pixels: Float64Array,
  width: number,
  height: number,
  sigma: number,
  { x, y, side }: Candidate,
): number {
  const half = (side - 1) / 2;
  const reachX = Math.min(side, x, width - 1 - x);
  const reachY = Math.min(side, y, height - 1 - y);
  let inside = 0;
  let all = 0;
  let n = 0;
  let total = 0;
  for (let j = y - reachY; j <= y + reachY; j++)
    for (let i = x - reachX; i <= x + reachX; i++) {
      const v = pixels[j * width + i];
      if (v - v !== 0) continue;
      all += v;
      total++;
      if (Math.abs(i - x) > half || Math.abs(j - y) > half) continue;
      inside += v;
      n++;
    }
  return significanceOf(inside, n, all - inside, total - n, side, sigma);
}

/** Local maxima of the contrast at one box side that reach `least`, added to `found`. */
function findContrasts(found: Candidate[], tables: ContrastTables, side: number, least: number): void {
  const { width, height } = tables;
  // Wide boxes change slowly: a sixth of the side is fine enough to meet every maximum.
  const step = Math.max(1, Math.floor(side / 6));
  const columns = Math.ceil(width / step);
  const rows = Math.ceil(height / step);
  let above = new Float64Array(columns + 2).fill(-Infinity);
  let here = new Float64Array(columns + 2).fill(-Infinity);
  let below = new Float64Array(columns + 2).fill(-Infinity);
  for (let j = 0; j <= rows; j++) {
    [above, here, below] = [here, below, above];
    if (j < rows) fillRow(below, tables, j * step, side, step);
    else below.fill(-Infinity);
    if (j === 0) continue;
    for (let i = 1; i <= columns; i++) {
      const c = here[i];
      if (!(c >= least)) continue;
      const isPeak =
        c > here[i - 1] &&
        c >= here[i + 1] &&
        c > above[i - 1] &&
        c > above[i] &&
        c > above[i + 1] &&
        c >= below[i - 1] &&
        c >= below[i] &&
        c >= below[i + 1];
      if (isPeak) found.push({ x: (i - 1) * step, y: (j - 1) * step, side, significance: c });
    }
  }
}
