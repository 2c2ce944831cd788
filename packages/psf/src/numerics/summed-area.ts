/** Sums over any rectangle in four look-ups: the summed-area table (Crow 1984). */

/**
 * Table of width + 1 columns and height + 1 rows; entry (y, x) is the sum over all pixels above and left of
 * (x, y).
 *
 * @param table  to be filled: zeros in its first row and column, as another of this size has them
 */
export function summedArea(
  values: Float64Array,
  width: number,
  height: number,
  table: Float64Array = new Float64Array((width + 1) * (height + 1)),
): Float64Array {
  const stride = width + 1;
  for (let y = 0, k = 0; y < height; y++) {
    let line = 0;
    let t = (y + 1) * stride + 1;
    for (let x = 0; x < width; x++, k++, t++) {
      line += values[k];
      table[t] = table[t - stride] + line;
    }
  }
  return table;
}

/** Sum over columns left to right - 1 and rows top to bottom - 1, all within the image. */
export function boxSum(
  table: Float64Array,
  stride: number,
  left: number,
  top: number,
  right: number,
  bottom: number,
): number {
  const upper = top * stride;
  const lower = bottom * stride;
  return table[lower + right] - table[lower + left] - table[upper + right] + table[upper + left];
}
