/** Boxes about one row of a frame that have room on all sides: their contrasts without cases. */
import { isFilled, type RollingTable, reachOf } from './box-contrast.ts';
import type { TableMemory } from './table-memory.ts';

/** Where the corners of the box about column 0 stand in the table, and what its contrast is made of. */
export interface BoxRow {
  readonly side: number;
  readonly upper: number;
  readonly lower: number;
  readonly outerUpper: number;
  readonly outerLower: number;
  /** Contrast = ofInside * light inside - ofAll * light inside and around. */
  readonly ofInside: number;
  readonly ofAll: number;
}

/** Undefined where boxes about row y are cut, or pixels of the table are missing. */
export function boxRow(table: RollingTable, y: number, side: number): BoxRow | undefined {
  const { width, height, number, sigma } = table;
  const { w, h, W, H } = reachOf(width >> 1, y, side, width, height);
  const n = (2 * w + 1) * (2 * h + 1);
  const m = (2 * W + 1) * (2 * H + 1) - n;
  if (number !== undefined || W !== side || !isFilled(n, m, side)) return undefined;
  const scale = 1 / (sigma * Math.sqrt(n * (1 + n / m)));
  return {
    side,
    upper: table.at(y - h) - w,
    lower: table.at(y + h + 1) - w,
    outerUpper: table.at(y - H) - side,
    outerLower: table.at(y + H + 1) - side,
    ofInside: (1 + n / m) * scale,
    ofAll: (n / m) * scale,
  };
}

/** Contrast of the box about column x over its noise. */
export function contrastInRow(light: Float64Array, row: BoxRow, x: number): number {
  const { side, upper, lower, outerUpper, outerLower, ofInside, ofAll } = row;
  const wide = 2 * side + 1;
  const inside = light[lower + side + x] - light[lower + x] - light[upper + side + x] + light[upper + x];
  const all =
    light[outerLower + wide + x] -
    light[outerLower + x] -
    light[outerUpper + wide + x] +
    light[outerUpper + x];
  return ofInside * inside - ofAll * all;
}

/**
 * The columns, from `from` to before `end` every `step`, whose boxes reach `least`: written to those of the
 * memory, since most do not. Returns how many do.
 */
export function findReaching(
  { light, columns, loops }: TableMemory,
  row: BoxRow,
  from: number,
  end: number,
  step: number,
  least: number,
): number {
  const { side, upper, lower, outerUpper, outerLower, ofInside, ofAll } = row;
  const wide = 2 * side + 1;
  if (loops !== undefined) {
    const first = light.byteOffset + 8 * from;
    const count = loops.boxesReaching(
      first + 8 * upper,
      first + 8 * lower,
      first + 8 * outerUpper,
      first + 8 * outerLower,
      8 * side,
      8 * wide,
      8 * step,
      Math.ceil((end - from) / step),
      ofInside,
      ofAll,
      least,
      columns.byteOffset,
    );
    for (let k = 0; k < count; k++) columns[k] = from + step * columns[k];
    return count;
  }
  const upperRight = upper + side;
  const lowerRight = lower + side;
  const outerUpperRight = outerUpper + wide;
  const outerLowerRight = outerLower + wide;
  let count = 0;
  for (let x = from; x < end; x += step) {
    const inside = light[lowerRight + x] - light[lower + x] - light[upperRight + x] + light[upper + x];
    const all =
      light[outerLowerRight + x] - light[outerLower + x] - light[outerUpperRight + x] + light[outerUpper + x];
    if (ofInside * inside - ofAll * all >= least) columns[count++] = x;
  }
  return count;
}
