/**
 * How far the light in a box stands out of that around it, in units of its noise. Light around is taken in a
 * box twice as wide, so that a level or slope of the background gives nothing.
 */

import { type TableMemory, tableMemory } from './table-memory.ts';

/** A place where a box holds more light than its surroundings. */
export interface Candidate {
  readonly x: number;
  readonly y: number;
  /** Side of the box, px, odd. */
  readonly side: number;
  /** Contrast over its noise. */
  readonly significance: number;
  /** The same before any light was taken out. */
  readonly before: number;
  /** Usable pixels in the box, and around it. */
  readonly inside: number;
  readonly around: number;
}

/** Least share of a box that must be usable pixels, and least number of pixels around it for each inside. */
const leastFilled = 0.6;
const leastAround = 0.5;

/**
 * Half sides of a box about (x, y) and of the box around it, less a half pixel. Near an edge both are cut on
 * the far side too: only what is symmetric about (x, y) is blind to a slope.
 */
export function reachOf(
  x: number,
  y: number,
  side: number,
  width: number,
  height: number,
): { w: number; h: number; W: number; H: number } {
  const half = (side - 1) / 2;
  const reachX = Math.min(x, width - 1 - x);
  const reachY = Math.min(y, height - 1 - y);
  return {
    w: Math.min(half, reachX),
    h: Math.min(half, reachY),
    W: Math.min(side, reachX),
    H: Math.min(side, reachY),
  };
}

/** Whether n pixels in a box and m around it are enough. */
export const isFilled = (n: number, m: number, side: number): boolean =>
  n >= leastFilled * side * side && m >= leastAround * n;

/** Light inside against that around: n pixels inside, m around. */
export function significanceOf(inside: number, n: number, around: number, m: number, sigma: number): number {
  return (inside - (n * around) / m) / (sigma * Math.sqrt(n * (1 + n / m)));
}

/** Rows of the table that are summed in one go. */
const rowsAtOnce = 4;

/**
 * The rows of a summed-area table (Crow 1984) about one row of a frame; row r holds the sums over all rows
 * before it and stands at `r % depth`.
 */
export class RollingTable {
  readonly width: number;
  readonly height: number;
  readonly sigma: number;
  readonly stride: number;
  readonly light: Float64Array;
  readonly memory: TableMemory;
  /** The same over the number of usable pixels; undefined until one is missing. */
  number: Float64Array | undefined;
  readonly #depth: number;
  readonly #pixels: Float32Array;
  #inside = 0;
  #around = 0;

  /**
   * @param largestSide  of the boxes, px
   * @param spareRows    rows held beyond those that boxes about one row reach
   * @param sigma        noise of a pixel, electrons
   */
  constructor(
    pixels: Float32Array,
    width: number,
    height: number,
    largestSide: number,
    spareRows: number,
    sigma: number,
  ) {
    this.width = width;
    this.height = height;
    this.sigma = sigma;
    this.stride = width + 1;
    this.#pixels = pixels;
    this.#depth = Math.min(height + 1, 2 * largestSide + 2 + spareRows + rowsAtOnce - 1);
    this.memory = tableMemory(this.#depth, this.stride);
    this.light = this.memory.light;
  }

  /** Where row r begins. */
  at(r: number): number {
    return (r % this.#depth) * this.stride;
  }

  /** Add up to `rowsAtOnce` rows from row r >= 1 on, after those before it. Returns the next row. */
  sumRows(r: number): number {
    if (this.number === undefined && r + rowsAtOnce <= this.height + 1 && this.#sumFour(r))
      return r + rowsAtOnce;
    this.#sumRow(r);
    return r + 1;
  }

  /** Each sum waits for the one before it, so that four rows take little longer than one. */
  #sumFour(r: number): boolean {
    const { width, light } = this;
    const pixels = this.#pixels;
    const above = this.at(r - 1) + 1;
    const here0 = this.at(r) + 1;
    const here1 = this.at(r + 1) + 1;
    const here2 = this.at(r + 2) + 1;
    const here3 = this.at(r + 3) + 1;
    const from0 = (r - 1) * width;
    const from1 = from0 + width;
    const from2 = from1 + width;
    const from3 = from2 + width;
    let line0 = 0;
    let line1 = 0;
    let line2 = 0;
    let line3 = 0;
    for (let x = 0; x < width; x++) {
      line0 += pixels[from0 + x];
      line1 += pixels[from1 + x];
      line2 += pixels[from2 + x];
      line3 += pixels[from3 + x];
      const sum0 = light[above + x] + line0;
      const sum1 = sum0 + line1;
      const sum2 = sum1 + line2;
      light[here0 + x] = sum0;
      light[here1 + x] = sum1;
      light[here2 + x] = sum2;
      light[here3 + x] = sum2 + line3;
    }
    return Number.isFinite(line0 + line1 + line2 + line3);
  }

  #sumRow(r: number): void {
    const { width, light } = this;
    const pixels = this.#pixels;
    const above = this.at(r - 1) + 1;
    const here = this.at(r) + 1;
    const from = (r - 1) * width;
    let line = 0;
    for (let x = 0; x < width; x++) {
      line += pixels[from + x];
      light[here + x] = light[above + x] + line;
    }
    if (this.number === undefined && Number.isFinite(line)) return;
    this.number ??= this.#wholeNumbers(r);
    line = 0;
    let count = 0;
    for (let x = 0; x < width; x++) {
      if (Number.isFinite(pixels[from + x])) {
        line += pixels[from + x];
        count++;
      }
      light[here + x] = light[above + x] + line;
      this.number[here + x] = this.number[above + x] + count;
    }
  }

  /** Numbers of pixels in the rows held before row r, of which none is missing. */
  #wholeNumbers(r: number): Float64Array {
    const number = new Float64Array(this.light.length);
    for (let row = Math.max(0, r - this.#depth + 1); row < r; row++)
      for (let x = 0, at = this.at(row); x <= this.width; x++, at++) number[at] = row * x;
    return number;
  }

  /**
   * Contrast of the box about (x, y), whose rows are ready, over its noise; -Infinity where too much of it or
   * around it is missing.
   */
  contrast(x: number, y: number, side: number): number {
    const { width, height, light, number, sigma } = this;
    const { w, h, W, H } = reachOf(x, y, side, width, height);
    let n = (2 * w + 1) * (2 * h + 1);
    let m = (2 * W + 1) * (2 * H + 1) - n;
    if (number !== undefined) {
      n = this.#sum(number, x - w, y - h, x + w + 1, y + h + 1);
      m = this.#sum(number, x - W, y - H, x + W + 1, y + H + 1) - n;
    }
    this.#inside = n;
    this.#around = m;
    if (!isFilled(n, m, side)) return -Infinity;
    const inside = this.#sum(light, x - w, y - h, x + w + 1, y + h + 1);
    const all = this.#sum(light, x - W, y - H, x + W + 1, y + H + 1);
    return significanceOf(inside, n, all - inside, m, sigma);
  }

  /** The same with what it rests on; undefined instead of -Infinity. */
  candidate(x: number, y: number, side: number): Candidate | undefined {
    const significance = this.contrast(x, y, side);
    if (significance === -Infinity) return undefined;
    return { x, y, side, significance, before: significance, inside: this.#inside, around: this.#around };
  }

  #sum(table: Float64Array, left: number, top: number, right: number, bottom: number): number {
    const upper = this.at(top);
    const lower = this.at(bottom);
    return table[lower + right] - table[lower + left] - table[upper + right] + table[upper + left];
  }
}
