/** A star given as a table of light: measured, or computed by a program of your own. */
import { requireNames } from '../numerics/options.ts';
import { requireInteger, requireNonNegative, requireObject, requirePositive } from '../numerics/require.ts';
import type { ImageSize, ShapePlan } from './star-plan.ts';

/**
 * A star as a table of square cells, each of even light: any picture of a star. Its position is the center of
 * mass of the table. A table cut from a frame holds the pixels' blur already; drawn on pixels again, the star
 * is wider by one pixel's square (its variance grows by 1/12 px^2 per axis). Finer cells avoid that.
 */
export interface TableShape {
  readonly kind: 'table';
  /** Columns of the table, 1 to 4096. */
  readonly columns: number;
  /** Light of the cells, row by row, each >= 0, in any unit. */
  readonly light: readonly number[] | Float64Array | Float32Array;
  /** Cells per pixel along each axis, 1 to 64. Default 1. */
  readonly cellsPerPx?: number;
}

/**
 * A table made ready for one stamp size. Each cell's light falls on the pixels that it covers, exact to
 * rounding.
 *
 * @throws RangeError or TypeError naming `columns`, `light` or `cellsPerPx`
 */
export function prepareTable(shape: TableShape, { width, height }: ImageSize): ShapePlan {
  const { columns, light, cellsPerPx = 1 } = requireNames('shape', shape, 'kind columns light cellsPerPx');
  requireInteger('columns', columns, 1, 4096);
  requireInteger('cellsPerPx', cellsPerPx, 1, 64);
  requireObject('light', light);
  const rows = requireInteger('light.length / columns', light.length / columns, 1, 4096);
  let sum = 0;
  let sumX = 0;
  let sumY = 0;
  for (let j = 0, k = 0; j < rows; j++)
    for (let i = 0; i < columns; i++, k++) {
      const here = requireNonNegative(`light[${k}]`, light[k]);
      sum += here;
      sumX += here * i;
      sumY += here * j;
    }
  requirePositive('the sum of light', sum);
  const share = Float64Array.from(light, (value) => value / sum);
  const side = 1 / cellsPerPx;
  // Left and upper edge of the table, from the center of its light.
  const leftPx = -(sumX / sum + 0.5) * side;
  const topPx = -(sumY / sum + 0.5) * side;
  return {
    renderInto(out, x, y, flux) {
      out.fill(0);
      const add = (column: number, row: number, light: number) => {
        if (column >= 0 && column < width && row >= 0 && row < height) out[row * width + column] += light;
      };
      // A cell is at most one pixel wide: it covers two columns and two rows at most.
      for (let k = 0; k < share.length; k++) {
        const left = x + leftPx + (k % columns) * side + 0.5;
        const top = y + topPx + Math.floor(k / columns) * side + 0.5;
        const column = Math.floor(left);
        const row = Math.floor(top);
        const inColumn = Math.min(1, (column + 1 - left) / side);
        const inRow = Math.min(1, (row + 1 - top) / side);
        const light = flux * share[k];
        add(column, row, light * inColumn * inRow);
        add(column + 1, row, light * (1 - inColumn) * inRow);
        add(column, row + 1, light * inColumn * (1 - inRow));
        add(column + 1, row + 1, light * (1 - inColumn) * (1 - inRow));
      }
    },
  };
}
