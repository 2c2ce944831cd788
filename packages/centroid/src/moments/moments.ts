/** First moments of a list of pixels and their first-order errors: what all centre-of-mass estimators share. */

import type { ApertureSums, Moments } from '../pixels/aperture-sums.ts';
import type { Follow } from '../pixels/recentring.ts';
import type { PixelList } from '../pixels/valid-pixels.ts';

/** Error sums of the same pixels. */
export interface MomentErrors {
  /** Variance of x and y, px^2. */
  varianceX: number;
  varianceY: number;
  /** Change of x and y when the background is 1 electron per pixel lower than thought. */
  perBackgroundX: number;
  perBackgroundY: number;
}

/**
 * Moments with weight  v - offset  where v > threshold, else 0. A threshold of -Infinity and an offset of 0 are the plain
 * centre of mass.
 *
 * @param originX,originY  whole numbers near the star, from which coordinates are taken, lest digits cancel far from the
 *   corner of the image
 */
export function sumMoments(
  out: ApertureSums,
  list: PixelList,
  threshold: number,
  offset: number,
  originX: number,
  originY: number,
): void {
  const { column, rowStart, value, variance, top, bottom } = list;
  const isWhole = threshold === -Infinity;
  // By the excess over the threshold, as in aperture-sums.ts
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

/**
 * First-order errors:  var(x) = sum (column - x)^2 passed V / total^2.
 *
 * @param passed  share of each pixel's variance that reaches its weight; default 1 for the pixels above the threshold
 */
export function sumMomentErrors(
  out: MomentErrors,
  { x, y, total }: Moments,
  list: PixelList,
  threshold: number,
  passed?: Float64Array,
): void {
  const { count, column, row, value, variance } = list;
  let xx = 0;
  let yy = 0;
  let byX = 0;
  let byY = 0;
  for (let k = 0; k < count; k++) {
    const dx = column[k] - x;
    const dy = row[k] - y;
    const isAbove = value[k] > threshold ? 1 : 0;
    const v = variance[k];
    const s = v * (passed === undefined ? isAbove : passed[k]);
    xx += dx * dx * s;
    yy += dy * dy * s;
    byX += isAbove * dx;
    byY += isAbove * dy;
  }
  const total2 = total * total;
  out.varianceX = xx / total2;
  out.varianceY = yy / total2;
  out.perBackgroundX = byX / total;
  out.perBackgroundY = byY / total;
}

/**
 * How the position follows the aperture: the weight that stands on its rim, by its moment along the direction of motion.
 * When the aperture is centred again and again on the position found, every error grows by 1 / (1 - follow).
 *
 * @param list  the pixels out to half a pixel beyond the rim: the ring of 1 px about it stands for the rim
 */
export function sumFollow(
  out: Follow,
  { x, y, total }: Moments,
  list: PixelList,
  threshold: number,
  offset: number,
  centreX: number,
  centreY: number,
  radiusPx: number,
): void {
  const { count, column, row, value } = list;
  const inner = Math.max(0, radiusPx - 0.5);
  const inner2 = inner * inner;
  let followX = 0;
  let followY = 0;
  for (let k = 0; k < count; k++) {
    const rx = column[k] - centreX;
    const ry = row[k] - centreY;
    const r2 = rx * rx + ry * ry;
    if (r2 < inner2 || !(value[k] > threshold)) continue;
    const w = (value[k] - offset) / Math.sqrt(r2);
    followX += w * (column[k] - x) * rx;
    followY += w * (row[k] - y) * ry;
  }
  out.x = followX / total;
  out.y = followY / total;
}
