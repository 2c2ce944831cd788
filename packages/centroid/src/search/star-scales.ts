/**
 * Where light stands out, at which scale: for boxes of growing side, the light inside against that around, in
 * units of its noise. Points answer to the smallest box, a ring to the box that just holds it. Light around
 * is taken in a box twice as wide, so that a level or slope of the background gives nothing.
 */

import { boxSum, medianOf, sigmaPerMedianDeviation, summedArea } from '@holdfast/psf/numerics';
import { type RemovedLight, RemovedLights } from './removed-light.ts';

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

/** The contrasts of a frame, from which light can be taken out. */
export interface Contrasts {
  /** All places, at all box sides, where the contrast has a local maximum of at least `least`. */
  candidates(least: number, sides: readonly number[]): Candidate[];
  /**
   * How far contrasts at one box side scatter beyond what the noise of pixels makes, 1 or more: clouds,
   * faults of the flat field (after the empty apertures of Labbe et al. 2003, AJ 125, 1107, from memory).
   * Undefined in a frame too small to tell.
   */
  structure(side: number): number | undefined;
  /** The contrast of a candidate without the light that was taken out. */
  contrastNow(candidate: Candidate): number;
  takeOut(light: RemovedLight): void;
}

/**
 * Tables of the frame's light. Non-finite pixels are left out.
 *
 * @param table  to be used for it, see `summedArea`
 */
export function prepareContrasts(
  pixels: Float64Array,
  width: number,
  height: number,
  sigma: number,
  table?: Float64Array,
): Contrasts {
  const tables = contrastTables(pixels, width, height, sigma, table);
  const removed = new RemovedLights();
  return {
    candidates(least, sides) {
      const found: Candidate[] = [];
      const searches = sides
        .filter((side) => side < Math.min(width, height))
        .map((side) => new ScaleSearch(tables, side, least));
      // All scales go down the frame together: the rows of the table that they read are then at hand.
      const last = Math.max(0, ...searches.map(({ step, rows }) => step * rows));
      for (let y = 0; y <= last; y++)
        for (const search of searches)
          if (y % search.step === 0 && y <= search.step * search.rows) search.take(y / search.step, found);
      return found;
    },
    structure: (side) => structureAt(tables, side, removed),
    contrastNow: ({ x, y, side }) => contrast(tables, x, y, side, removed),
    takeOut: (light) => removed.add(light),
  };
}

function contrastTables(
  pixels: Float64Array,
  width: number,
  height: number,
  sigma: number,
  table?: Float64Array,
): ContrastTables {
  const light = summedArea(pixels, width, height, table);
  // One pixel that is not finite spoils the sum over all
  const total = light[light.length - 1];
  if (Number.isFinite(total)) return { width, height, sigma, light, number: undefined };
  const usable = pixels.map((value) => (Number.isFinite(value) ? 1 : 0));
  return {
    width,
    height,
    sigma,
    light: summedArea(
      pixels.map((value) => (Number.isFinite(value) ? value : 0)),
      width,
      height,
    ),
    number: summedArea(usable, width, height),
  };
}

/** Sides of the boxes, px: odd, a factor of about 1.4 apart, up to the largest light looked for. */
export function boxSides(largestDiameterPx: number): number[] {
  const sides = [3];
  for (let side = 3; side < largestDiameterPx; ) {
    side = Math.max(side + 2, 2 * Math.round(0.7 * side) + 1);
    sides.push(side);
  }
  return sides;
}

/**
 * Contrast of the box of `side` about (x, y) over its noise; -Infinity where too much of box or surroundings
 * is missing. Near an edge both are cut on the far side too: only what is symmetric about (x, y) is blind to
 * a slope.
 */
function contrast(
  { width, height, light, number, sigma }: ContrastTables,
  x: number,
  y: number,
  side: number,
  removed: RemovedLights,
): number {
  const half = (side - 1) / 2;
  const stride = width + 1;
  const reachX = Math.min(x, width - 1 - x);
  const reachY = Math.min(y, height - 1 - y);
  const w = Math.min(half, reachX);
  const h = Math.min(half, reachY);
  const W = Math.min(side, reachX);
  const H = Math.min(side, reachY);
  let inside = boxSum(light, stride, x - w, y - h, x + w + 1, y + h + 1);
  let all = boxSum(light, stride, x - W, y - H, x + W + 1, y + H + 1);
  for (
    let k = removed.next(0, x - W, y - H, x + W, y + H);
    k >= 0;
    k = removed.next(k + 1, x - W, y - H, x + W, y + H)
  ) {
    inside -= removed.sum(k, x - w, y - h, x + w + 1, y + h + 1);
    all -= removed.sum(k, x - W, y - H, x + W + 1, y + H + 1);
  }
  let n = (2 * w + 1) * (2 * h + 1);
  let m = (2 * W + 1) * (2 * H + 1) - n;
  if (number !== undefined) {
    n = boxSum(number, stride, x - w, y - h, x + w + 1, y + h + 1);
    m = boxSum(number, stride, x - W, y - H, x + W + 1, y + H + 1) - n;
  }
  return significanceOf(inside, n, all - inside, m, side, sigma);
}

/** Least number of boxes whose scatter says something. */
const leastBoxes = 100;

function structureAt(tables: ContrastTables, side: number, removed: RemovedLights): number | undefined {
  const step = Math.max(2, Math.floor(side / 2));
  const columns = Math.floor((tables.width - 2 * side) / step);
  const rows = Math.floor((tables.height - 2 * side) / step);
  if (columns < 1 || rows < 1 || columns * rows < leastBoxes) return undefined;
  // in a large frame of small boxes a part of them tells as much
  const every = Math.max(1, Math.floor(Math.sqrt((columns * rows) / 4000)));
  const values = new Float64Array(columns * rows);
  let count = 0;
  for (let j = 0; j < rows; j += every)
    for (let i = 0; i < columns; i += every) {
      const value = contrast(tables, side + i * step, side + j * step, side, removed);
      if (Number.isFinite(value)) values[count++] = value;
    }
  if (count < leastBoxes / 2) return undefined;
  const middle = medianOf(values, count);
  for (let k = 0; k < count; k++) values[k] = Math.abs(values[k] - middle);
  return Math.max(1, sigmaPerMedianDeviation * medianOf(values, count));
}

const nothingRemoved = new RemovedLights();

/**
 * Contrasts of one row at every step-th column, with one place more at either end, and the places that reach
 * `least`.
 */
interface ContrastRow {
  readonly values: Float64Array;
  readonly hits: Int32Array;
  count: number;
}

function contrastRow(columns: number): ContrastRow {
  return { values: new Float64Array(columns + 2).fill(-Infinity), hits: new Int32Array(columns), count: 0 };
}

/** Fill `out` with one row. Where the box has all its room, without cases. */
function fillRow(
  out: ContrastRow,
  tables: ContrastTables,
  y: number,
  side: number,
  step: number,
  least: number,
): void {
  const { width, height, light, number, sigma } = tables;
  const { values, hits } = out;
  const columns = Math.ceil(width / step);
  const roomy = number === undefined && y >= side && y + side < height;
  const first = roomy ? Math.min(columns, Math.ceil(side / step)) : columns;
  const end = Math.max(first, roomy ? Math.floor((width - 1 - side) / step) + 1 : columns);
  let count = 0;
  for (let i = 0; i < first; i++) {
    const c = contrast(tables, i * step, y, side, nothingRemoved);
    values[i + 1] = c;
    if (c >= least) hits[count++] = i + 1;
  }
  if (first < end) {
    const stride = width + 1;
    const half = (side - 1) / 2;
    const n = side * side;
    const m = (2 * side + 1) ** 2 - n;
    const scale = 1 / (sigma * Math.sqrt(n * (1 + n / m)));
    const ofInside = (1 + n / m) * scale;
    const ofAll = (n / m) * scale;
    const topLeft = (y - half) * stride - half;
    const topRight = topLeft + side;
    const bottomLeft = topLeft + side * stride;
    const bottomRight = bottomLeft + side;
    const wide = 2 * side + 1;
    const outerTopLeft = (y - side) * stride - side;
    const outerTopRight = outerTopLeft + wide;
    const outerBottomLeft = outerTopLeft + wide * stride;
    const outerBottomRight = outerBottomLeft + wide;
    for (let i = first, x = first * step; i < end; i++, x += step) {
      const inside =
        light[bottomRight + x] - light[bottomLeft + x] - light[topRight + x] + light[topLeft + x];
      const all =
        light[outerBottomRight + x] -
        light[outerBottomLeft + x] -
        light[outerTopRight + x] +
        light[outerTopLeft + x];
      const c = ofInside * inside - ofAll * all;
      values[i + 1] = c;
      if (c >= least) hits[count++] = i + 1;
    }
  }
  for (let i = end; i < columns; i++) {
    const c = contrast(tables, i * step, y, side, nothingRemoved);
    values[i + 1] = c;
    if (c >= least) hits[count++] = i + 1;
  }
  out.count = count;
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

/** Local maxima of the contrast at one box side that reach `least`, row after row. */
class ScaleSearch {
  /**
   * Every so many columns and rows are looked at: wide boxes change slowly, and a sixth of the side meets
   * every maximum.
   */
  readonly step: number;
  readonly rows: number;
  readonly #tables: ContrastTables;
  readonly #side: number;
  readonly #least: number;
  #above: ContrastRow;
  #here: ContrastRow;
  #below: ContrastRow;

  constructor(tables: ContrastTables, side: number, least: number) {
    this.step = Math.max(1, Math.floor(side / 6));
    this.rows = Math.ceil(tables.height / this.step);
    this.#tables = tables;
    this.#side = side;
    this.#least = least;
    const columns = Math.ceil(tables.width / this.step);
    this.#above = contrastRow(columns);
    this.#here = contrastRow(columns);
    this.#below = contrastRow(columns);
  }

  /** Look at row number j, from 0 to `rows`, and add the maxima of the row before it to `found`. */
  take(j: number, found: Candidate[]): void {
    const { step } = this;
    [this.#above, this.#here, this.#below] = [this.#here, this.#below, this.#above];
    if (j < this.rows) fillRow(this.#below, this.#tables, j * step, this.#side, step, this.#least);
    else this.#below.values.fill(-Infinity);
    if (j === 0) return;
    const { values, hits, count } = this.#here;
    const up = this.#above.values;
    const down = this.#below.values;
    for (let k = 0; k < count; k++) {
      const i = hits[k];
      const c = values[i];
      const isPeak =
        c > values[i - 1] &&
        c >= values[i + 1] &&
        c > up[i - 1] &&
        c > up[i] &&
        c > up[i + 1] &&
        c >= down[i - 1] &&
        c >= down[i] &&
        c >= down[i + 1];
      if (isPeak) found.push({ x: (i - 1) * step, y: (j - 1) * step, side: this.#side, significance: c });
    }
  }
}
