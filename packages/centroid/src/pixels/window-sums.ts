/**
 * First moments of the pixels of a window, straight from the image in one pass: the same position, to the
 * bit, as by the sums over a list of its pixels (moments.ts), at a third of the time. Only where nothing is
 * odd; else the list is needed.
 */
import type { ResolvedOptions } from './estimator-options.ts';
import { absurdE, type ImageView } from './image-view.ts';

/** Sums over the pixels used; positions in px of the image. */
export interface Moments {
  /** Sum of the weights; the position is weight-averaged. */
  total: number;
  /** Sum of the sizes of what they are made of, which tells a true sum from a cancellation error. */
  size: number;
  /** Electrons in the pixels used. */
  light: number;
  x: number;
  y: number;
  /** Pixels used. */
  count: number;
}

/** Moments with what tells whether the star may be measured on these pixels. */
export interface WindowSums extends Moments {
  /** Pixels of the window, used or not. */
  all: number;
  /** How many of them stand at or above `saturationE`. */
  saturated: number;
  /** Variance of the light, e^2. */
  varianceLight: number;
}

export const noWindowSums = (): WindowSums => ({
  total: 0,
  size: 0,
  light: 0,
  x: 0,
  y: 0,
  count: 0,
  all: 0,
  saturated: 0,
  varianceLight: 0,
});

/**
 * Where and of what moments are taken. One such object serves all sums of an estimator: each pass overwrites
 * it.
 */
export interface MomentCut {
  /** Middle of the window, px. */
  centerX: number;
  centerY: number;
  /**
   * A pixel counts as its electrons less `offset` where they exceed `threshold`, else 0; -Infinity for all
   * pixels.
   */
  threshold: number;
  offset: number;
  /**
   * Whole numbers near the star, from which coordinates are taken, lest digits cancel far from the corner of
   * the image.
   */
  originX: number;
  originY: number;
}

export const noMomentCut = (): MomentCut => ({
  centerX: 0,
  centerY: 0,
  threshold: 0,
  offset: 0,
  originX: 0,
  originY: 0,
});

/** Sums of one row, in this order. */
const rowSums = new Float64Array(6);
const rowUsed = 0;
const rowExcess = 1;
const rowMoment = 2;
const rowSize = 3;
const rowVariance = 4;
const rowAll = 5;

/**
 * Sums of a whole image as the loops below would make them, in the order of a row's; in place of the last the
 * moment along y. Returns false where it leaves them to these loops: where a row has as much light above
 * level and threshold as `saturated`, or a pixel is not usable.
 */
export type SumImage = (
  sums: Float64Array,
  view: ImageView,
  options: ResolvedOptions,
  level: number,
  cut: MomentCut,
  saturated: number,
) => boolean;

let sumImage: SumImage | undefined;

/** Sum whole images so from now on. */
export function setSumImage(sum: SumImage | undefined): void {
  sumImage = sum;
}

/**
 * Sum over the pixels whose center lies within `radiusPx` of (centerX, centerY).
 *
 * @param level  background, the same everywhere
 * @param cut    its threshold -Infinity with an offset of 0, or such that no pixel above it can have a negative variance, with itself
 *   as the offset
 * @returns whether the sums hold: not when a pixel is saturated or unusable, or threshold and offset are
 *   others
 */
export function sumWindow(
  out: WindowSums,
  view: ImageView,
  options: ResolvedOptions,
  level: number,
  cut: MomentCut,
): boolean {
  const { data, offset: first, strideX, strideY } = view;
  const { radiusPx, saturationE, fixedVariance } = options;
  const { width, height } = options.size;
  const { centerX, centerY, threshold, offset, originX, originY } = cut;
  const isWhole = threshold === -Infinity;
  const zero = isWhole ? 0 : threshold;
  if (offset !== zero || !(isWhole || threshold + level + fixedVariance > 0)) return false;
  const everything = radiusPx === Infinity;
  const firstRow = everything ? 0 : Math.max(0, Math.ceil(centerY - radiusPx));
  const lastRow = everything ? height - 1 : Math.min(height - 1, Math.floor(centerY + radiusPx));
  const radius2 = radiusPx * radiusPx;
  const usual = Math.min(saturationE, absurdE);
  let total = 0;
  let size = 0;
  let variance = 0;
  let sumX = 0;
  let sumY = 0;
  let used = 0;
  let all = 0;
  let y = firstRow;
  if (everything && sumImage?.(rowSums, view, options, level, cut, usual - level - zero)) {
    used = rowSums[rowUsed];
    total = rowSums[rowExcess];
    sumX = rowSums[rowMoment];
    size = rowSums[rowSize];
    variance = rowSums[rowVariance];
    sumY = rowSums[rowAll];
    y = height;
    all = width * height;
  }
  for (; y <= lastRow; y++) {
    const dy = everything ? 0 : y - centerY;
    const halfChord = Math.sqrt(Math.max(0, radius2 - dy * dy));
    const from = everything ? 0 : Math.max(0, Math.ceil(centerX - halfChord));
    const to = everything ? width - 1 : Math.min(width - 1, Math.floor(centerX + halfChord));
    if (to < from) continue;
    const at = first + y * strideY + from * strideX;
    if (isWhole) sumRow(data, at, strideX, from, to, level, originX, fixedVariance);
    else sumRowAbove(data, at, strideX, from, to, level, originX, threshold);
    // A pixel that is NaN or as good as infinite makes the sum of its row so.
    if (!(Math.abs(rowSums[rowAll]) < 0.5 * absurdE)) return false;
    // Only a row with as much light as a saturated pixel can hold one.
    if (rowSums[rowSize] >= usual - level - zero && hasSaturated(data, at, strideX, to - from + 1, usual))
      return false;
    all += to - from + 1;
    used += rowSums[rowUsed];
    total += rowSums[rowExcess];
    size += rowSums[rowSize];
    variance += rowSums[rowVariance];
    sumX += rowSums[rowMoment];
    sumY += rowSums[rowExcess] * (y - originY);
  }
  const light = total + zero * used;
  out.total = total;
  out.size = size + 2 * Math.abs(zero) * used;
  out.light = light;
  out.x = originX + sumX / total;
  out.y = originY + sumY / total;
  out.count = used;
  out.all = all;
  out.saturated = 0;
  out.varianceLight = isWhole ? variance : light + (level + fixedVariance) * used;
  return true;
}

/** Whether one of the pixels stands at or above a value. */
function hasSaturated(data: Float64Array, at: number, stride: number, count: number, value: number): boolean {
  for (let i = 0; i < count; i++) if (data[at + i * stride] >= value) return true;
  return false;
}

// In these loops nothing may stand that is never reached: V8 then makes the whole loop three times slower
// (measured).

/**
 * Pixels above the threshold, by their excess over it. There is no branch on noise, of which a processor
 * guesses a part wrong at the price of several pixels: 2 max(d, 0) is d + |d|.
 */
function sumRowAbove(
  data: Float64Array,
  at: number,
  stride: number,
  from: number,
  to: number,
  level: number,
  originX: number,
  threshold: number,
): void {
  let used = 0;
  let twice = 0;
  let moment = 0;
  let all = 0;
  for (let x = from, k = at; x <= to; x++, k += stride) {
    const raw = data[k];
    const d = raw - level - threshold;
    const both = d + Math.abs(d);
    all += raw;
    used += +(d > 0);
    twice += both;
    moment += both * (x - originX);
  }
  rowSums[rowUsed] = used;
  rowSums[rowExcess] = 0.5 * twice;
  rowSums[rowMoment] = 0.5 * moment;
  rowSums[rowSize] = 0.5 * twice;
  rowSums[rowVariance] = 0;
  rowSums[rowAll] = all;
}

/** All pixels. */
function sumRow(
  data: Float64Array,
  at: number,
  stride: number,
  from: number,
  to: number,
  level: number,
  originX: number,
  fixedVariance: number,
): void {
  let light = 0;
  let moment = 0;
  let size = 0;
  let variance = 0;
  for (let x = from, k = at; x <= to; x++, k += stride) {
    const raw = data[k];
    const v = raw - level;
    light += v;
    moment += v * (x - originX);
    size += Math.abs(v);
    variance += Math.max(0, raw + fixedVariance);
  }
  rowSums[rowUsed] = to - from + 1;
  rowSums[rowExcess] = light;
  rowSums[rowMoment] = moment;
  rowSums[rowSize] = size;
  rowSums[rowVariance] = variance;
  rowSums[rowAll] = size;
}
