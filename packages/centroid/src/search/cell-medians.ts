/** A smooth surface through the medians of square cells of an image: what is left of it without its stars. */
import { medianOf } from '@holdfast/psf/numerics';

export interface Surface {
  /**
   * Height at column i and row j: straight lines between the middles of cells, level beyond the outermost.
   */
  at(i: number, j: number): number;
}

/** @param cell  side of a cell, about, px */
export function cellMedians(values: Float64Array, columns: number, rows: number, cell: number): Surface {
  const across = Math.max(1, Math.floor(columns / cell));
  const down = Math.max(1, Math.floor(rows / cell));
  const wide = columns / across;
  const high = rows / down;
  const medians = new Float64Array(across * down);
  const scratch = new Float64Array(Math.ceil(wide + 1) * Math.ceil(high + 1));
  for (let b = 0; b < down; b++)
    for (let a = 0; a < across; a++) {
      let count = 0;
      for (let j = Math.floor(b * high); j < Math.floor((b + 1) * high); j++)
        for (let i = Math.floor(a * wide); i < Math.floor((a + 1) * wide); i++) {
          const value = values[j * columns + i];
          if (Number.isFinite(value)) scratch[count++] = value;
        }
      medians[b * across + a] = count > 0 ? medianOf(scratch, count) : 0;
    }
  return {
    at(i, j) {
      const x = Math.max(0, Math.min(across - 1, (i + 0.5) / wide - 0.5));
      const y = Math.max(0, Math.min(down - 1, (j + 0.5) / high - 0.5));
      const a = Math.min(Math.floor(x), Math.max(0, across - 2));
      const b = Math.min(Math.floor(y), Math.max(0, down - 2));
      const right = Math.min(a + 1, across - 1);
      const below = Math.min(b + 1, down - 1) * across;
      const top = medians[b * across + a] * (1 - (x - a)) + medians[b * across + right] * (x - a);
      const bottom = medians[below + a] * (1 - (x - a)) + medians[below + right] * (x - a);
      return top * (1 - (y - b)) + bottom * (y - b);
    },
  };
}
