/**
 * How unlike an image is to itself turned by half a turn about a point. Pixels k and n - k are turned into
 * each other about n / 2: for every whole n, that is for centers half a pixel apart along each axis, pixels
 * meet pixels.
 */
import type { PixelList } from '../pixels/valid-pixels.ts';

/** Fewest pairs that a difference rests on. */
const leastPairs = 4;

/** Sums over pixels about a center. */
export interface StarLight {
  readonly light: number;
  readonly variance: number;
  readonly pixels: number;
  /** Light of those that have a counterpart. */
  readonly paired: number;
}

export class HalfTurn {
  /** Of the last `compare`: sum over pairs of the squared difference of the two pixels, and the pairs. */
  squares = 0;
  pairs = 0;

  readonly #list: PixelList;
  readonly #width: number;
  /** Whether the pixels of every row lie side by side: then a row's pairs do, too. */
  #isGapless = false;
  /** Values by place in the image; 0 where there is none, and `used` says so. */
  readonly values: Float64Array;
  readonly used: Float64Array;

  constructor(list: PixelList, width: number, height: number) {
    this.#list = list;
    this.#width = width;
    this.values = new Float64Array(width * height);
    this.used = new Float64Array(width * height);
  }

  /** Take up the pixels now in the list, with these values. */
  begin(values: Float64Array): void {
    const { count, column, row, rowStart, top, bottom } = this.#list;
    this.values.fill(0);
    this.used.fill(0);
    this.#isGapless = true;
    for (let y = top; y <= bottom; y++) {
      const pixels = rowStart[y + 1] - rowStart[y];
      const across = pixels === 0 ? 0 : column[rowStart[y + 1] - 1] - column[rowStart[y]] + 1;
      if (across !== pixels) this.#isGapless = false;
    }
    for (let k = 0; k < count; k++) {
      const at = row[k] * this.#width + column[k];
      this.values[at] = values[k];
      this.used[at] = 1;
    }
  }

  /**
   * Compare the pixels whose columns add up to nx and whose rows add up to ny. A pixel that is its own
   * partner does not count.
   *
   * @returns the mean square of their difference; Infinity where there are too few pairs
   */
  compare(nx: number, ny: number): number {
    if (this.#isGapless) this.#sumRuns(nx, ny);
    else this.#sumUsed(nx, ny);
    return this.pairs < leastPairs ? Infinity : this.squares / this.pairs;
  }

  /** Of rows without gaps: from the first pixel that has a partner to the last. */
  #sumRuns(nx: number, ny: number): void {
    const { column, rowStart, top, bottom } = this.#list;
    const dense = this.values;
    let squares = 0;
    let pairs = 0;
    for (let y = Math.max(top, ny - bottom); 2 * y <= ny; y++) {
      const partner = ny - y;
      if (rowStart[y + 1] === rowStart[y] || rowStart[partner + 1] === rowStart[partner]) continue;
      const first = Math.max(column[rowStart[y]], nx - column[rowStart[partner + 1] - 1]);
      const last = Math.min(column[rowStart[y + 1] - 1], nx - column[rowStart[partner]]);
      const end = 2 * y < ny ? last : Math.min(last, Math.ceil(nx / 2) - 1);
      if (end < first) continue;
      pairs += end - first + 1;
      let b = partner * this.#width + nx - first;
      const stop = y * this.#width + end;
      for (let a = y * this.#width + first; a <= stop; a++, b--) {
        const d = dense[a] - dense[b];
        squares += d * d;
      }
    }
    this.squares = squares;
    this.pairs = pairs;
  }

  #sumUsed(nx: number, ny: number): void {
    const list = this.#list;
    const first = Math.max(list.left, nx - list.right);
    const last = nx - first;
    const width = this.#width;
    const dense = this.values;
    const used = this.used;
    let squares = 0;
    let pairs = 0;
    // Each pair once: the upper row of the two; in the middle row, which is its own partner, the left column.
    for (let y = Math.max(list.top, ny - list.bottom); 2 * y <= ny; y++) {
      const end = 2 * y < ny ? last : Math.ceil(nx / 2) - 1;
      let a = y * width + first;
      let b = (ny - y) * width + nx - first;
      for (let x = first; x <= end; x++, a++, b--) {
        const d = dense[a] - dense[b];
        const isPair = used[a] * used[b];
        squares += isPair * d * d;
        pairs += isPair;
      }
    }
    this.squares = squares;
    this.pairs = pairs;
  }

  /** Sum over the pixels within a radius of a center, px. */
  sumLight(centerX: number, centerY: number, radiusPx: number): StarLight {
    const { count, column, row, value, variance, left, right, top, bottom } = this.#list;
    const nx = Math.round(2 * centerX);
    const ny = Math.round(2 * centerY);
    const sums = { light: 0, variance: 0, pixels: 0, paired: 0 };
    for (let k = 0; k < count; k++) {
      if ((column[k] - centerX) ** 2 + (row[k] - centerY) ** 2 > radiusPx * radiusPx) continue;
      sums.light += value[k];
      sums.variance += variance[k];
      sums.pixels++;
      const x = nx - column[k];
      const y = ny - row[k];
      if (x >= left && x <= right && y >= top && y <= bottom)
        sums.paired += this.used[y * this.#width + x] * value[k];
    }
    return sums;
  }

  /**
   * An image (`values` or `used`) under two kernels, slopeX weightY and weightX slopeY, read at the partner
   * of each pixel about (nx / 2, ny / 2); nx, ny whole. Weight number i stands for the place i - before from
   * there.
   */
  readPartners(
    outX: Float64Array,
    outY: Float64Array,
    dense: Float64Array,
    { weightX, weightY, slopeX, slopeY }: PartnerWeights,
    before: number,
    nx: number,
    ny: number,
    [bySlope, byWeight]: readonly [Float64Array, Float64Array],
  ): void {
    const { count, column, row, left, right, top, bottom } = this.#list;
    const width = this.#width;
    const taps = weightX.length;
    for (let y = top; y <= bottom; y++)
      for (let x = left; x <= right; x++) {
        const from = nx - x - before;
        const end = Math.min(taps, right - from + 1);
        const at = y * width + from;
        let [slope, weight] = [0, 0];
        for (let i = Math.max(0, left - from); i < end; i++) {
          const value = dense[at + i];
          slope += slopeX[i] * value;
          weight += weightX[i] * value;
        }
        bySlope[y * width + x] = slope;
        byWeight[y * width + x] = weight;
      }
    for (let k = 0; k < count; k++) {
      const from = ny - row[k] - before;
      const end = Math.min(taps, bottom - from + 1);
      const at = from * width + column[k];
      let [x, y] = [0, 0];
      for (let i = Math.max(0, top - from); i < end; i++) {
        x += weightY[i] * bySlope[at + i * width];
        y += slopeY[i] * byWeight[at + i * width];
      }
      outX[k] = x;
      outY[k] = y;
    }
  }
}

/** Of a spline about a place, and of its derivative; as many of each. */
export interface PartnerWeights {
  readonly weightX: Float64Array;
  readonly weightY: Float64Array;
  readonly slopeX: Float64Array;
  readonly slopeY: Float64Array;
}
