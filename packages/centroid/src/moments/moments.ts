/**
 * First moments of a list of pixels and their first-order errors: what all center-of-mass estimators share.
 */

import type { PixelList } from '../pixels/valid-pixels.ts';
import type { MomentCut, Moments, WindowSums } from '../pixels/window-sums.ts';

/**
 * Moments with weight v - offset where v > threshold, else 0. A threshold of -Infinity and an offset of 0 are
 * the plain center of mass.
 */
export function sumMoments(
  out: WindowSums,
  list: PixelList,
  { threshold, offset, originX, originY }: MomentCut,
): void {
  const { column, rowStart, value, variance, top, bottom } = list;
  const isWhole = threshold === -Infinity;
  // By the excess over the threshold, as in window-sums.ts
  const zero = isWhole ? 0 : threshold;
  const extra = zero - offset;
  let excess = 0;
  let size = 0;
  let sumX = 0;
  let sumY = 0;
  let used = 0;
  let varianceLight = 0;
  for (let y = top; y <= bottom; y++) {
    let rowUsed = 0;
    let rowExcess = 0;
    let rowPlace = 0;
    let rowMoment = 0;
    for (let k = rowStart[y]; k < rowStart[y + 1]; k++) {
      const d = value[k] - zero;
      if (!(isWhole || d > 0)) continue;
      const dx = column[k] - originX;
      rowUsed++;
      rowExcess += d;
      rowPlace += dx;
      rowMoment += d * dx;
      size += Math.abs(d);
      varianceLight += variance[k];
    }
    used += rowUsed;
    excess += rowExcess;
    sumX += rowMoment + extra * rowPlace;
    sumY += (rowExcess + extra * rowUsed) * (y - originY);
  }
  const total = excess + extra * used;
  out.total = total;
  out.size = size + (Math.abs(zero) + Math.abs(offset)) * used;
  out.light = excess + zero * used;
  out.x = originX + sumX / total;
  out.y = originY + sumY / total;
  out.count = used;
  out.all = list.count;
  out.saturated = list.saturatedCount;
  out.varianceLight = varianceLight;
}

/** What the pixels of a list weigh in the mean position, entry by entry. */
export interface PixelWeights {
  /** Electrons. */
  readonly weight: Float64Array;
  /** Variance of the weight, e^2. */
  readonly variance: Float64Array;
  /** Change of the weight per electron of the pixel. */
  readonly slope: Float64Array;
}

export function createPixelWeights(capacity: number): PixelWeights {
  return {
    weight: new Float64Array(capacity),
    variance: new Float64Array(capacity),
    slope: new Float64Array(capacity),
  };
}

/** Where a window stands, px. Infinite: the whole list. */
export interface RoundWindow {
  readonly centerX: number;
  readonly centerY: number;
  readonly radiusPx: number;
}

/**
 * Largest variance of the weight sum over its square: from here on the expansion of the ratio of two sums
 * fails.
 */
export const mostSumVariance = 0.13;

/** Error sums of the pixels used. */
export interface MomentErrors {
  /** Variance of the sum of weights over the square of the sum. */
  total: number;
  /** Variance of x and y, px^2. */
  varianceX: number;
  varianceY: number;
  /** Change of x and y when the background is 1 electron per pixel lower than thought. */
  perBackgroundX: number;
  perBackgroundY: number;
}

export const noMomentErrors = (): MomentErrors => ({
  total: 0,
  varianceX: 0,
  varianceY: 0,
  perBackgroundX: 0,
  perBackgroundY: 0,
});

/**
 * First-order errors:  var(x) = sum (column - x)^2 var(weight) / total^2.
 *
 * @param list  may reach beyond the window
 */
export function sumMomentErrors(
  out: MomentErrors,
  { x, y, total }: Moments,
  { count, column, row }: PixelList,
  { variance, slope }: PixelWeights,
  { centerX, centerY, radiusPx }: RoundWindow,
): void {
  const radius2 = radiusPx * radiusPx;
  let all = 0;
  let xx = 0;
  let yy = 0;
  let byX = 0;
  let byY = 0;
  for (let k = 0; k < count; k++) {
    const rx = column[k] - centerX;
    const ry = row[k] - centerY;
    if (rx * rx + ry * ry > radius2) continue;
    const dx = column[k] - x;
    const dy = row[k] - y;
    all += variance[k];
    xx += dx * dx * variance[k];
    yy += dy * dy * variance[k];
    byX += dx * slope[k];
    byY += dy * slope[k];
  }
  const total2 = total * total;
  out.total = all / total2;
  out.varianceX = xx / total2;
  out.varianceY = yy / total2;
  out.perBackgroundX = byX / total;
  out.perBackgroundY = byY / total;
}
