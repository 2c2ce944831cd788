/** Where the parts of the error curve's figure lie, px. */
import type { CurveData } from './curve-data.ts';
import { shortName } from './figure.ts';
import { type Flag, flagRows } from './flags.ts';

export interface CurveLayout {
  readonly width: number;
  readonly height: number;
  /** Laid out for a narrow page: a key above instead of names at the ends of the lines. */
  readonly narrow: boolean;
  readonly left: number;
  readonly right: number;
  readonly errorTop: number;
  readonly errorHeight: number;
  readonly lostTop: number;
  readonly lostHeight: number;
  /** Largest focus shift on the axis, um; beyond the data there is room for the names of the lines. */
  readonly farthestUm: number;
  /** Names of the filters, above the upper panel. */
  readonly flags: readonly Flag[];
}

/** Height of a line of text. */
export const rowPx = 17;
const namesPx = 130;

export function curveLayout(data: CurveData, width: number): CurveLayout {
  const narrow = width < 560;
  const left = narrow ? 52 : 62;
  const right = narrow ? 48 : 60;
  const farthestUm = data.farthestUm * (narrow ? 1.02 : 1 + namesPx / (width - left - right - namesPx));
  const flags = flagRows(
    data.filters.map(({ name, distanceUm }) => ({
      text: shortName(name, narrow ? 16 : 22),
      x: left + (distanceUm / farthestUm) * (width - left - right),
    })),
    width,
  );
  const rows = 1 + Math.max(...flags.map(({ row }) => row)) + (narrow ? data.lines.length + 2 : 0);
  const errorTop = 10 + rowPx * rows + (narrow ? 8 : 0);
  const errorHeight = narrow ? 250 : 330;
  const lostTop = errorTop + errorHeight + 22;
  const lostHeight = narrow ? 80 : 96;
  const height = lostTop + lostHeight + 44;
  return {
    width,
    height,
    narrow,
    left,
    right,
    errorTop,
    errorHeight,
    lostTop,
    lostHeight,
    farthestUm,
    flags,
  };
}
