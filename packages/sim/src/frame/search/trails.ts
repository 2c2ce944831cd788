/**
 * Straight trails across a frame, as satellites draw them: found by sums along all lines (after Duda & Hart
 * 1972, Comm. ACM 15, 11, from memory: lines by angle and distance), and taken off with their own median
 * profile, so that stars on them stay.
 */
import { medianOf, writePhasor } from '@holdfast/psf/numerics';
import { cellMedians } from './cell-medians.ts';
import type { FrameFaults } from './frame-faults.ts';

/**
 * A line: columns x and rows y with (x - x0) sin - (y - y0) cos = 0, and how far to either side its light
 * reaches.
 */
export interface Trail {
  readonly x: number;
  readonly y: number;
  /** Direction of the line. */
  readonly cos: number;
  readonly sin: number;
  readonly halfWidthPx: number;
}

/** The frame is looked at in so many bins along its longer side. */
const binsAlong = 200;
/** A bin counts no more than this many of its sigmas, lest a few stars in a row make a line. */
const mostSigmas = 2.5;
/** Least sum along a line over its noise. */
const leastSignificance = 9;
const mostTrails = 4;
/** Parts of a line of which all but one must show light. */
const parts = 8;
/** The level beside is the median of squares of so many bins. */
const cell = 16;

/**
 * Find the trails of a frame and subtract them, in place. A frame of less than 200 pixels to a side is left
 * as it is.
 */
export function subtractTrails(
  faults: FrameFaults,
  width: number,
  height: number,
  sigma: number,
): readonly Trail[] {
  if (Math.min(width, height) < 200) return [];
  const { pixels } = faults;
  const bin = Math.ceil(Math.max(width, height) / binsAlong);
  const columns = Math.floor(width / bin);
  const rows = Math.floor(height / bin);
  const trails: Trail[] = [];
  const map = standingOut(pixels, width, bin, columns, rows, sigma);
  for (let tries = 0; tries < 2 * mostTrails && trails.length < mostTrails; tries++) {
    const line = strongestLine(map, columns, rows);
    if (line === undefined) break;
    const x = line.x * bin + (bin - 1) / 2;
    const y = line.y * bin + (bin - 1) / 2;
    const trail = line.even ? subtractLine(faults, width, height, { ...line, x, y }, bin, sigma) : undefined;
    if (trail !== undefined) trails.push(trail);
    const reach = 2 + (trail?.halfWidthPx ?? 0) / bin;
    for (let j = 0, k = 0; j < rows; j++)
      for (let i = 0; i < columns; i++, k++)
        if (Math.abs((i - line.x) * line.sin - (j - line.y) * line.cos) < reach) map[k] = 0;
  }
  return trails;
}

/** Means of bins above the median around them, in their sigmas, within `mostSigmas`. */
function standingOut(
  pixels: Float32Array,
  width: number,
  bin: number,
  columns: number,
  rows: number,
  sigma: number,
): Float64Array {
  const means = new Float64Array(columns * rows);
  for (let j = 0; j < rows; j++)
    for (let v = 0; v < bin; v++)
      for (let i = 0, k = (j * bin + v) * width; i < columns; i++)
        for (let u = 0; u < bin; u++, k++) means[j * columns + i] += pixels[k];
  const levels = cellMedians(means, columns, rows, cell);
  const perSigma = 1 / (sigma * bin);
  const out = new Float64Array(means.length);
  for (let j = 0, k = 0; j < rows; j++)
    for (let i = 0; i < columns; i++, k++) {
      const value = (means[k] - levels.at(i, j)) * perSigma;
      out[k] = Number.isFinite(value) ? Math.max(-mostSigmas, Math.min(mostSigmas, value)) : 0;
    }
  return out;
}

/** The line of the largest sum over its noise; `even` when nearly all of its parts show light. */
function strongestLine(
  map: Float64Array,
  columns: number,
  rows: number,
): { x: number; y: number; cos: number; sin: number; even: boolean } | undefined {
  const x0 = (columns - 1) / 2;
  const y0 = (rows - 1) / 2;
  const reach = Math.ceil(Math.sqrt(x0 * x0 + y0 * y0)) + 1;
  const angles = Math.ceil(Math.PI * reach);
  const sums = new Float64Array(2 * reach + 1);
  const counts = new Float64Array(2 * reach + 1);
  const direction = new Float64Array(2);
  let best = { significance: leastSignificance, cos: 1, sin: 0, distance: Number.NaN };
  for (let a = 0; a < angles; a++) {
    writePhasor(direction, 0, a / (2 * angles));
    const [cos, sin] = direction;
    sums.fill(0);
    counts.fill(0);
    for (let j = 0, k = 0; j < rows; j++) {
      let place = -x0 * sin - (j - y0) * cos + reach + 0.5;
      for (let i = 0; i < columns; i++, k++, place += sin) {
        const bin = place | 0;
        sums[bin] += map[k];
        counts[bin]++;
      }
    }
    for (let bin = 0; bin < sums.length; bin++) {
      if (counts[bin] < 0.25 * rows) continue;
      const significance = sums[bin] / Math.sqrt(counts[bin]);
      if (significance > best.significance) best = { significance, cos, sin, distance: bin - reach };
    }
  }
  const { cos, sin, distance } = best;
  if (!Number.isFinite(distance)) return undefined;
  const partSums = new Float64Array(parts);
  const partCounts = new Float64Array(parts);
  let [first, last] = [Infinity, -Infinity];
  const visit = (see: (along: number, k: number) => void): void => {
    for (let j = 0, k = 0; j < rows; j++)
      for (let i = 0; i < columns; i++, k++) {
        const off = (i - x0) * sin - (j - y0) * cos - distance;
        if (Math.abs(off) <= 0.5) see((i - x0) * cos + (j - y0) * sin, k);
      }
  };
  visit((along) => {
    first = Math.min(first, along);
    last = Math.max(last, along);
  });
  visit((along, k) => {
    const part = Math.min(parts - 1, Math.floor(((along - first) / (last - first + 1e-9)) * parts));
    partSums[part] += map[k];
    partCounts[part]++;
  });
  const lit = partSums.reduce((sum, value, p) => sum + (value > 1.5 * Math.sqrt(partCounts[p]) ? 1 : 0), 0);
  return { x: x0 + distance * sin, y: y0 - distance * cos, cos, sin, even: lit >= parts - 1 };
}

/** Pixels along a line below which its median says too little. */
const leastLength = 40;
/** A trail ends where its profile falls to this share of its peak. */
const leastOfPeak = 0.03;
/** The level beside a trail is the mean of so many px. */
const ends = 8;
/** The profile of a trail is followed so far to either side, px. */
const profileReachPx = 130;
/** Pixels about a line looked at for one turn of it, at most: of a large frame a part. */
const mostLooked = 2 ** 17;
/** Pixels that the median at one distance from a line rests on, at most twice as many. */
const perDistance = 2000;
/** Turns of a line tried: range either way (tangent), how many, one pixel of so many. */
const turnings = [
  [0.06, 16, 4],
  [0.004, 8, 2],
] as const;

/** Subtract the median profile of a line that was found in bins of `bin` px, its place first made exact. */
function subtractLine(
  faults: FrameFaults,
  width: number,
  height: number,
  rough: { readonly x: number; readonly y: number; readonly cos: number; readonly sin: number },
  bin: number,
  sigma: number,
): Trail | undefined {
  const { pixels } = faults;
  const reach = Math.min(Math.max(profileReachPx, 8 * bin), Math.floor(Math.min(width, height) / 4));
  const sparse = Math.ceil((2 * reach * Math.max(width, height)) / mostLooked);
  const { x, y } = rough;
  const about = medianProfile(pixels, width, height, rough, reach).profile;
  const level = medianOf(Float64Array.from(about), about.length);
  let best = { sharpness: -Infinity, cos: rough.cos, sin: rough.sin };
  const sums = new Float64Array(2 * reach + 1);
  const counts = new Float64Array(2 * reach + 1);
  // a wide trail fits many angles: the one at which its profile is sharpest
  for (const [range, turns, every] of turnings) {
    const { cos: cos0, sin: sin0 } = best;
    for (let turn = -turns; turn <= turns; turn++) {
      const by = (turn / turns) * range;
      const length = Math.sqrt(1 + by * by);
      const cos = (cos0 - by * sin0) / length;
      const sin = (sin0 + by * cos0) / length;
      sums.fill(0);
      counts.fill(0);
      const add = (off: number, value: number): void => {
        const at = Math.floor(off + reach);
        const share = off + reach - at;
        const light = Math.max(-3 * sigma, Math.min(6 * sigma, value - level));
        sums[at] += (1 - share) * light;
        counts[at] += 1 - share;
        sums[at + 1] += share * light;
        counts[at + 1] += share;
      };
      alongLine(pixels, width, height, { x, y, cos, sin }, reach, add, Math.max(every, sparse));
      let [sharpness, sum, count] = [0, 0, 0];
      for (let at = 0; at < sums.length; at++)
        if (counts[at] > 0) {
          sum += sums[at];
          count += counts[at];
          sharpness += (sums[at] * sums[at]) / counts[at];
        }
      sharpness = (sharpness - (sum * sum) / count) / count;
      if (sharpness > best.sharpness) best = { sharpness, cos, sin };
    }
    best = { ...best, sharpness: -Infinity };
  }
  const { cos, sin } = best;
  const line = { x, y, cos, sin };
  const { profile, numbers } = medianProfile(pixels, width, height, line, reach);
  // a line near an edge of the frame has less beside it
  let first = reach;
  let last = reach;
  while (numbers[first - 1] >= leastLength) first--;
  while (numbers[last + 1] >= leastLength) last++;
  const mean = (values: readonly number[], from: number): number =>
    values.slice(from, from + ends).reduce((a, b) => a + b, 0) / ends;
  const before = mean(profile, first);
  const rise = (mean(profile, last + 1 - ends) - before) / (last - first);
  const light = profile.map((value, at) => value - before - rise * (at - first));
  let peak = reach;
  for (let at = reach - 3 * bin; at <= reach + 3 * bin; at++) if (light[at] > light[peak]) peak = at;
  const noise = (1.25 * sigma) / Math.sqrt(numbers[peak]);
  if (!(light[peak] > 5 * noise)) return undefined;
  const lit = Math.max(1.5 * noise, leastOfPeak * light[peak]);
  /** Where the light ends to one side: no more of it, or the background rises again. */
  const endOf = (way: 1 | -1): number => {
    let at = peak;
    for (; at + way >= first && at + way <= last && light[at + way] > lit; at += way) {
      const falls = way * (mean(light, at - ends) - mean(light, at + 1));
      if (light[at] < light[peak] / 2 && falls <= 0) break;
    }
    return at;
  };
  const low = endOf(-1);
  const high = endOf(1);
  // what is half as wide as all that was looked at is no line
  if (high - low > reach) return undefined;
  const litReach = Math.max(Math.abs(low - 1 - reach), Math.abs(high - reach)) + 1;
  alongLine(pixels, width, height, line, litReach, (off, _, k) => {
    const place = off + reach;
    const at = Math.floor(place);
    if (at < low - 1 || at >= high) return;
    const extra = light[at] + (light[at + 1] - light[at]) * (place - at);
    if (extra > 0) faults.subtract(k, extra);
  });
  const middle = (low + high) / 2 - reach;
  return { x: x + middle * sin, y: y - middle * cos, cos, sin, halfWidthPx: (high - low + 1) / 2 };
}

/**
 * Median at each whole distance from a line, from -reach on, of some 1000 pixels each; and the number of
 * them.
 */
function medianProfile(
  pixels: Float32Array,
  width: number,
  height: number,
  line: { readonly x: number; readonly y: number; readonly cos: number; readonly sin: number },
  reach: number,
): { profile: number[]; numbers: Int32Array } {
  const every = Math.max(1, Math.floor(Math.max(width, height) / perDistance));
  const capacity = Math.ceil((1.5 * (width + height)) / every);
  const values = Array.from({ length: 2 * reach + 1 }, () => new Float64Array(capacity));
  const counts = new Int32Array(values.length);
  const collect = (off: number, value: number): void => {
    const at = Math.floor(off + reach + 0.5);
    if (counts[at] < capacity) values[at][counts[at]++] = value;
  };
  alongLine(pixels, width, height, line, reach, collect, every);
  const profile = values.map((one, at) => (counts[at] > 0 ? medianOf(one, counts[at]) : 0));
  return { profile, numbers: counts };
}

/** Every finite pixel within `reach` of a line, with its distance from it. */
function alongLine(
  pixels: Float32Array,
  width: number,
  height: number,
  { x, y, cos, sin }: { readonly x: number; readonly y: number; readonly cos: number; readonly sin: number },
  reach: number,
  see: (off: number, value: number, k: number) => void,
  every = 1,
): void {
  for (let j = 0; j < height; j++) {
    let [left, right] = [0, width - 1];
    if (Math.abs(sin) > 1e-9) {
      const middle = x + ((j - y) * cos) / sin;
      const half = reach / Math.abs(sin);
      left = Math.max(0, Math.ceil(middle - half));
      right = Math.min(width - 1, Math.floor(middle + half));
    }
    // another column of each row, lest a grid of what is looked at makes a profile of its own
    left += every === 1 ? 0 : (j * 37 + ((j * j * 13) >> 3)) % every;
    for (let i = left, k = j * width + left; i <= right; i += every, k += every) {
      const off = (i - x) * sin - (j - y) * cos;
      if (Math.abs(off) < reach && Number.isFinite(pixels[k])) see(off, pixels[k], k);
    }
  }
}
