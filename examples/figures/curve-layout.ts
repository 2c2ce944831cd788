/** Where the parts of the error curve's figure lie, px. */
import type { CurveData } from './curve-data.ts';
import { shortName } from './figure.ts';
import { type Flag, flagRows } from './flags.ts';

export interface CurveLayout {
  readonly width: number;
  readonly height: number;
  readonly left: number;
  readonly right: number;
  readonly errorTop: number;
  readonly errorHeight: number;
  readonly lostTop: number;
  readonly lostHeight: number;
  /** Largest focus shift on the axis, um. */
  readonly farthestUm: number;
  /** Names of the filters, above the upper panel. */
  readonly flags: readonly Flag[];
}

/** Height of a line of text. */
export const rowPx = 17;

/** @param keyPx  height of the key above */
export function curveLayout(data: CurveData, width: number, keyPx: number): CurveLayout {
  const narrow = width < 560;
  const left = narrow ? 52 : 62;
  const right = narrow ? 48 : 60;
  const farthestUm = 1.02 * data.farthestUm;
  const flags = flagRows(
    data.filters.map(({ name, distanceUm }) => ({
      text: shortName(name, narrow ? 16 : 22),
      x: left + (distanceUm / farthestUm) * (width - left - right),
    })),
    width,
  );
  const rows = 1 + Math.max(...flags.map(({ row }) => row));
  const errorTop = keyPx + 10 + rowPx * rows;
  const errorHeight = narrow ? 250 : 330;
  const lostTop = errorTop + errorHeight + 22;
  const lostHeight = narrow ? 80 : 96;
  const height = lostTop + lostHeight + 44;
  return {
    width,
    height,
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
