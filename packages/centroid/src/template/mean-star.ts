/** The mean of stars that stand at different places among their pixels. */

import { prepareSplineFilter, type SplineFilter, splineWeights } from '@holdfast/psf/numerics';
import ndarray from 'ndarray';
import type { ImageSize } from '../pixels/centroid.ts';
import type { PixelList } from '../pixels/valid-pixels.ts';
import type { TemplateImage } from './star-template.ts';

/** Of the splines that move a star: as good as its sampling allows. */
const degree = 9;
const taps = degree + 1;
const before = (degree - 1) / 2;

export class MeanStar {
  readonly #size: ImageSize;
  readonly #reach: number;
  readonly #side: number;
  readonly #mean: Float64Array;
  readonly #coefficients: Float64Array;
  readonly #lines: Float64Array;
  readonly #used: Uint8Array;
  readonly #filterRows: SplineFilter;
  readonly #filterColumns: SplineFilter;
  readonly #weight = new Float64Array(taps);
  readonly #slope = new Float64Array(taps);

  /** @param reach  whole px from the star's center to the edge of the mean's image */
  constructor(size: ImageSize, reach: number) {
    const { width, height } = size;
    this.#size = size;
    this.#reach = reach;
    this.#side = 2 * reach + 1;
    this.#mean = new Float64Array(this.#side * this.#side);
    this.#coefficients = new Float64Array(width * height);
    this.#lines = new Float64Array(this.#side * height);
    this.#used = new Uint8Array(width * height);
    this.#filterRows = prepareSplineFilter(width, degree);
    this.#filterColumns = prepareSplineFilter(height, degree);
  }

  /**
   * Add the star at (x, y), which counts as `weight` of the new mean. Where it lacks pixels the mean stays,
   * once there is one.
   */
  add(list: PixelList, x: number, y: number, weight: number): void {
    const { width, height } = this.#size;
    const reach = this.#reach;
    const side = this.#side;
    const mean = this.#mean;
    const coefficients = this.#coefficients;
    const used = this.#used;
    used.fill(0);
    for (let k = 0; k < list.count; k++) {
      const at = list.row[k] * width + list.column[k];
      coefficients[at] = list.value[k];
      used[at] = 1;
    }
    if (list.count < used.length) this.#fillMissing(x, y);
    this.#filterRows(coefficients, height, width, 1);
    this.#filterColumns(coefficients, width, 1, width);

    // All pixels of the mean lie at the same place between pixels of the image: one set of weights along x,
    // one along y.
    const left = Math.floor(x) - reach;
    const top = Math.floor(y) - reach;
    const w = this.#weight;
    splineWeights(w, this.#slope, x - Math.floor(x), degree);
    const lines = this.#lines;
    for (let j = 0; j < height; j++)
      for (let i = 0; i < side; i++) {
        const from = left + i - before;
        let sum = 0;
        for (let t = Math.max(0, -from); t < taps && from + t < width; t++)
          sum += w[t] * coefficients[j * width + from + t];
        lines[j * side + i] = sum;
      }
    splineWeights(w, this.#slope, y - Math.floor(y), degree);
    for (let j = 0; j < side; j++)
      for (let i = 0; i < side; i++) {
        const column = Math.round(x - reach + i);
        const row = Math.round(y - reach + j);
        const isOff = column < 0 || row < 0 || column >= width || row >= height;
        if (weight < 1 && (isOff || used[row * width + column] === 0)) continue;
        const from = top + j - before;
        let sum = 0;
        for (let t = Math.max(0, -from); t < taps && from + t < height; t++)
          sum += w[t] * lines[(from + t) * side + i];
        mean[j * side + i] += weight * (sum - mean[j * side + i]);
      }
  }

  /** The mean as a template; undefined while it holds no light. */
  template(): TemplateImage | undefined {
    let total = 0;
    for (let k = 0; k < this.#mean.length; k++) total += this.#mean[k];
    if (!(total > 0)) return undefined;
    return {
      image: ndarray(this.#mean.slice(), [this.#side, this.#side]),
      x: this.#reach,
      y: this.#reach,
    };
  }

  /**
   * Values for the pixels that the image lacks: those of the mean there; in the first image those opposite in
   * the star.
   */
  #fillMissing(x: number, y: number): void {
    const { width, height } = this.#size;
    const coefficients = this.#coefficients;
    const used = this.#used;
    const hasMean = this.#mean.some((v) => v !== 0);
    for (let j = 0, k = 0; j < height; j++)
      for (let i = 0; i < width; i++, k++) {
        if (used[k] === 1) continue;
        if (hasMean) {
          coefficients[k] = this.#meanAt(i - x, j - y);
          continue;
        }
        const column = Math.round(2 * x - i);
        const row = Math.round(2 * y - j);
        const partner = row * width + column;
        const isThere = column >= 0 && row >= 0 && column < width && row < height && used[partner] === 1;
        coefficients[k] = isThere ? coefficients[partner] : 0;
      }
  }

  /** The mean at a place from its center, by straight lines between its pixels; 0 beyond. */
  #meanAt(dx: number, dy: number): number {
    const side = this.#side;
    const column = Math.floor(dx) + this.#reach;
    const row = Math.floor(dy) + this.#reach;
    if (column < 0 || row < 0 || column + 1 >= side || row + 1 >= side) return 0;
    const mean = this.#mean;
    const a = dx - Math.floor(dx);
    const b = dy - Math.floor(dy);
    const at = row * side + column;
    const upper = mean[at] + a * (mean[at + 1] - mean[at]);
    const lower = mean[at + side] + a * (mean[at + side + 1] - mean[at + side]);
    return upper + b * (lower - upper);
  }
}
