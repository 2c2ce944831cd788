/**
 * Which pixels an estimator uses, and with what value: strides, non-finite pixels, the caller's mask, the
 * window and the background are all dealt with here and nowhere else. It runs first, so that guess,
 * position and predicted error rest on the same pixels. The image is only read.
 */
import type { Image, ImageSize } from './centroid.ts';
import type { ResolvedBackground, ResolvedOptions } from './estimator-options.ts';
import { absurdE, type ImageView, viewOf } from './image-view.ts';

/** The usable pixels, row by row; only the first `count` entries of each array are meant. */
export interface PixelList {
  count: number;
  readonly column: Int32Array;
  readonly row: Int32Array;
  /** Row y holds the entries rowStart[y] to rowStart[y + 1] - 1, for top <= y <= bottom. */
  readonly rowStart: Int32Array;
  /** Electrons with the background taken off. */
  readonly value: Float64Array;
  /** Predicted variance, e^2; filled in only when a noise model was given. */
  readonly variance: Float64Array;
  /** The part of it that an empty pixel has: background, electrons subtracted before, read noise squared. */
  readonly emptyVariance: Float64Array;
  /** How many of them stand at or above `saturationE`. */
  saturatedCount: number;
  /** Smallest and largest column and row among them; meaningless when there are none. */
  left: number;
  right: number;
  top: number;
  bottom: number;
}

export function createPixelList({ width, height }: ImageSize): PixelList {
  const capacity = width * height;
  return {
    count: 0,
    column: new Int32Array(capacity),
    row: new Int32Array(capacity),
    rowStart: new Int32Array(height + 1),
    value: new Float64Array(capacity),
    variance: new Float64Array(capacity),
    emptyVariance: new Float64Array(capacity),
    saturatedCount: 0,
    left: 0,
    right: 0,
    top: 0,
    bottom: 0,
  };
}

/**
 * Fill `list` with the pixels whose center lies within `radiusPx` of (centerX, centerY), are finite (and
 * below 1e30 electrons) and, where there is a mask, marked 1 in it.
 *
 * The variance of a pixel is max(0, its own electrons + electrons subtracted before + read noise squared).
 * The bound is put on the sum, not on the electrons alone: with the background subtracted, half of the empty
 * pixels are negative, and to cut those would raise the mean variance (by 8 % where read noise dominates).
 */
export function listPixels(
  list: PixelList,
  image: Image | Float64Array,
  options: ResolvedOptions,
  background: ResolvedBackground,
  centerX: number,
  centerY: number,
): void {
  const { data, offset, strideX, strideY }: ImageView = viewOf(image, options.size);
  const { width, height } = options.size;
  const { valid, radiusPx, saturationE, hasNoise, fixedVariance } = options;
  const { column, row, rowStart, value, variance, emptyVariance } = list;
  const { level, slopeX, slopeY, x0, y0 } = background;
  const everything = radiusPx === Infinity;
  const firstRow = everything ? 0 : Math.max(0, Math.ceil(centerY - radiusPx));
  const lastRow = everything ? height - 1 : Math.min(height - 1, Math.floor(centerY + radiusPx));
  const radius2 = radiusPx * radiusPx;
  let count = 0;
  let saturated = 0;
  let left = width;
  let right = -1;
  for (let y = firstRow; y <= lastRow; y++) {
    let from = 0;
    let to = width - 1;
    if (!everything) {
      const dy = y - centerY;
      const halfChord = Math.sqrt(Math.max(0, radius2 - dy * dy));
      from = Math.max(0, Math.ceil(centerX - halfChord));
      to = Math.min(width - 1, Math.floor(centerX + halfChord));
    }
    const rowLevel = level + slopeY * (y - y0) - slopeX * x0;
    const start = offset + y * strideY;
    const before = count;
    rowStart[y] = count;
    for (let x = from; x <= to; x++) {
      const raw = data[start + x * strideX];
      if (!(Math.abs(raw) < absurdE) || (valid !== undefined && valid[y * width + x] !== 1)) continue;
      column[count] = x;
      row[count] = y;
      const below = rowLevel + slopeX * x;
      value[count] = raw - below;
      if (hasNoise) {
        variance[count] = Math.max(0, raw + fixedVariance);
        emptyVariance[count] = Math.max(0, below) + fixedVariance;
      }
      if (raw >= saturationE) saturated++;
      count++;
    }
    if (count > before) {
      left = Math.min(left, column[before]);
      right = Math.max(right, column[count - 1]);
    }
  }
  if (lastRow >= firstRow) rowStart[lastRow + 1] = count;
  list.count = count;
  list.saturatedCount = saturated;
  list.left = left;
  list.right = right;
  list.top = count > 0 ? row[0] : 0;
  list.bottom = count > 0 ? row[count - 1] : -1;
}

/** Row-major copy of the image in which every unusable pixel is NaN, in `out`. */
export function copyPixels(
  image: Image | Float64Array,
  size: ImageSize,
  valid: Uint8Array | undefined,
  out: Float64Array = new Float64Array(size.width * size.height),
): Float64Array {
  const { data, offset, strideX, strideY } = viewOf(image, size);
  const { width, height } = size;
  for (let y = 0, k = 0; y < height; y++) {
    for (let x = 0, at = offset + y * strideY; x < width; x++, k++, at += strideX) {
      const raw = data[at];
      out[k] = Math.abs(raw) < absurdE && (valid === undefined || valid[k] === 1) ? raw : NaN;
    }
  }
  return out;
}
