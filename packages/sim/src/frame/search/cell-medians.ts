/** A smooth surface through the medians of square cells of an image: what is left of it without its stars. */
import { medianOf } from '@holdfast/psf/numerics';

export interface Surface {
  /**
   * Height at column i and row j: straight lines between the middles of cells, and on beyond the outermost.
   */
  at(i: number, j: number): number;
  /** Subtract row j from the values from `first` on. */
  subtractFrom(values: Float32Array, first: number, j: number): void;
}

/** Values of a cell that its median rests on, about, or a quarter of them where that is more. */
const perCell = 700;
const sparsest = 4;

/** @param cell  side of a cell, about, px */
export function cellMedians(
  values: Float32Array | Float64Array,
  columns: number,
  rows: number,
  cell: number,
): Surface {
  const across = Math.max(1, Math.floor(columns / cell));
  const down = Math.max(1, Math.floor(rows / cell));
  const wide = columns / across;
  const high = rows / down;
  const medians = new Float64Array(across * down);
  const scratch = new Float64Array(Math.ceil(wide + 1) * Math.ceil(high + 1));
  const step = Math.max(1, Math.min(sparsest, Math.round((wide * high) / perCell)));
  for (let b = 0; b < down; b++)
    for (let a = 0; a < across; a++) {
      let count = 0;
      for (let j = Math.floor(b * high); j < Math.floor((b + 1) * high); j++)
        // other columns in each row, lest a column that stands off counts for all
        for (let i = Math.floor(a * wide) + ((j * 7) % step); i < Math.floor((a + 1) * wide); i += step) {
          const value = values[j * columns + i];
          if (Number.isFinite(value)) scratch[count++] = value;
        }
      medians[b * across + a] = count > 0 ? medianOf(scratch, count) : 0;
    }
  /** The two cells of a straight line at place `p`, and the share of the second one. */
  const between = (p: number, size: number, cells: number): readonly [number, number, number] => {
    const place = (p + 0.5) / size - 0.5;
    const first = Math.max(0, Math.min(Math.floor(place), cells - 2));
    return [first, Math.min(first + 1, cells - 1), place - first];
  };
  return {
    at(i, j) {
      const [a, right, x] = between(i, wide, across);
      const [b, below, y] = between(j, high, down);
      const top = medians[b * across + a] * (1 - x) + medians[b * across + right] * x;
      const bottom = medians[below * across + a] * (1 - x) + medians[below * across + right] * x;
      return top * (1 - y) + bottom * y;
    },
    subtractFrom(values, first, j) {
      const [b, below, y] = between(j, high, down);
      const height = (a: number): number =>
        medians[b * across + a] * (1 - y) + medians[below * across + a] * y;
      for (let a = 0, from = 0; a < Math.max(1, across - 1); a++) {
        const to = a < across - 2 ? Math.ceil((a + 1.5) * wide - 0.5) : columns;
        const slope = (height(Math.min(a + 1, across - 1)) - height(a)) / wide;
        let level = height(a) + slope * (from + 0.5 - (a + 0.5) * wide);
        for (; from < to; from++, level += slope) values[first + from] -= level;
      }
    },
  };
}
