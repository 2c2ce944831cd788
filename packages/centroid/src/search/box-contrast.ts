/**
 * How far the light in a box stands out of that around it, in units of its noise. Light around is taken in a
 * box twice as wide, so that a level or slope of the background gives nothing.
 */

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

/** Light inside against that around: n pixels inside, m around. */
export function significanceOf(inside: number, n: number, around: number, m: number, sigma: number): number {
  return (inside - (n * around) / m) / (sigma * Math.sqrt(n * (1 + n / m)));
}

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
  /** The same over the number of usable pixels; undefined where none is missing. */
  readonly number: Float64Array | undefined;
  readonly #depth: number;
  readonly #pixels: Float32Array;
  readonly #largestSide: number;
  #next = 1;
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
    this.#largestSide = largestSide;
    this.#depth = Math.min(height + 1, 2 * largestSide + 2 + spareRows);
    this.light = new Float64Array(this.#depth * this.stride);
    this.number = isWhole(pixels) ? undefined : this.light.slice();
  }

  /** Where row r begins. */
  at(r: number): number {
    return (r % this.#depth) * this.stride;
  }

  /** Make ready all rows that boxes about row y reach. */
  reach(y: number): void {
    const last = Math.min(this.height, y + this.#largestSide + 1);
    for (; this.#next <= last; this.#next++) this.#sumRow(this.#next);
  }

  #sumRow(r: number): void {
    const { width, light, number } = this;
    const pixels = this.#pixels;
    let above = this.at(r - 1) + 1;
    let here = this.at(r) + 1;
    const from = (r - 1) * width;
    const end = from + width;
    let line = 0;
    if (number === undefined) {
      for (let k = from; k < end; k++, above++, here++) {
        line += pixels[k];
        light[here] = light[above] + line;
      }
      return;
    }
    let count = 0;
    for (let k = from; k < end; k++, above++, here++) {
      if (Number.isFinite(pixels[k])) {
        line += pixels[k];
        count++;
      }
      light[here] = light[above] + line;
      number[here] = number[above] + count;
    }
  }

  /**
   * Contrast of the box about (x, y), whose rows are ready, over its noise; -Infinity where too much of it or
   * around it is missing.
   */
  contrast(x: number, y: number, side: number): number {
    const { width, height, light, number, sigma } = this;
    const { w, h, W, H } = reachOf(x, y, side, width, height);
    const inside = this.#sum(light, x - w, y - h, x + w + 1, y + h + 1);
    const all = this.#sum(light, x - W, y - H, x + W + 1, y + H + 1);
    let n = (2 * w + 1) * (2 * h + 1);
    let m = (2 * W + 1) * (2 * H + 1) - n;
    if (number !== undefined) {
      n = this.#sum(number, x - w, y - h, x + w + 1, y + h + 1);
      m = this.#sum(number, x - W, y - H, x + W + 1, y + H + 1) - n;
    }
    this.#inside = n;
    this.#around = m;
    if (n < leastFilled * side * side || m < leastAround * n) return -Infinity;
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

function isWhole(pixels: Float32Array): boolean {
  for (let k = 0; k < pixels.length; k++) if (!Number.isFinite(pixels[k])) return false;
  return true;
}
