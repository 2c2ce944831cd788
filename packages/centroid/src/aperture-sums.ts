/**
 * First moments of the pixels of an aperture, straight from the image in one pass: the same sums, to the bit, as those over
 * a list of its pixels (moments.ts), at a fifth of the time.
 */
import type { ResolvedOptions } from './estimator-options.ts';
import type { ImageView } from './image-view.ts';
import type { Moments } from './moments.ts';
import { absurdE } from './valid-pixels.ts';

/** Moments with what tells whether the star may be measured on these pixels. */
export interface ApertureSums extends Moments {
  /** Pixels of the aperture, used or not. */
  all: number;
  /** How many of them stand at or above `saturationE`. */
  saturated: number;
  /** Variance of the light, e^2. */
  varianceLight: number;
}

export const noApertureSums = (): ApertureSums => ({
  total: 0,
  size: 0,
  light: 0,
  x: 0,
  y: 0,
  count: 0,
  all: 0,
  saturated: 0,
  varianceLight: 0,
});

/**
 * Sum over the pixels whose centre lies within `radiusPx` of (centreX, centreY).
 *
 * @param level            background, the same everywhere
 * @param originX,originY  whole numbers near the star, from which coordinates are taken
 * @returns whether every pixel is usable; when not, the sums mean nothing
 */
export function sumAperture(
  out: ApertureSums,
  { data, offset: first, strideX, strideY }: ImageView,
  { size: { width, height }, radiusPx, saturationE, fixedVariance }: ResolvedOptions,
  level: number,
  centreX: number,
  centreY: number,
  threshold: number,
  offset: number,
  originX: number,
  originY: number,
): boolean {
  const everything = radiusPx === Infinity;
  const firstRow = everything ? 0 : Math.max(0, Math.ceil(centreY - radiusPx));
  const lastRow = everything ? height - 1 : Math.min(height - 1, Math.floor(centreY + radiusPx));
  const radius2 = radiusPx * radiusPx;
  const usual = Math.min(saturationE, absurdE);
  let size = 0;
  let light = 0;
  let sumX = 0;
  let sumY = 0;
  let used = 0;
  let all = 0;
  let saturated = 0;
  // A pixel's variance is raw + fixedVariance, at least 0: where no pixel above the threshold can be so low, the sum is known.
  const mayBeNegative = !(threshold + level + fixedVariance > 0);
  let lacking = 0;
  for (let y = firstRow; y <= lastRow; y++) {
    let from = 0;
    let to = width - 1;
    if (!everything) {
      const dy = y - centreY;
      const halfChord = Math.sqrt(Math.max(0, radius2 - dy * dy));
      from = Math.max(0, Math.ceil(centreX - halfChord));
      to = Math.min(width - 1, Math.floor(centreX + halfChord));
    }
    if (to < from) continue;
    all += to - from + 1;
    let rowUsed = 0;
    let rowLight = 0;
    let rowPlace = 0;
    let rowMoment = 0;
    let rowSize = 0;
    let at = first + y * strideY + from * strideX;
    for (let x = from; x <= to; x++, at += strideX) {
      const raw = data[at];
      if (!(raw < usual && raw > -absurdE)) {
        if (!(raw < absurdE && raw > -absurdE)) return false;
        saturated++;
      }
      const v = raw - level;
      if (!(v > threshold)) continue;
      const dx = x - originX;
      rowUsed++;
      rowLight += v;
      rowPlace += dx;
      rowMoment += v * dx;
      rowSize += Math.abs(v);
      if (mayBeNegative && raw < -fixedVariance) lacking -= raw + fixedVariance;
    }
    used += rowUsed;
    light += rowLight;
    size += rowSize;
    sumX += rowMoment - offset * rowPlace;
    sumY += (rowLight - offset * rowUsed) * (y - originY);
  }
  const total = light - offset * used;
  out.total = total;
  out.size = size + Math.abs(offset) * used;
  out.light = light;
  out.x = originX + sumX / total;
  out.y = originY + sumY / total;
  out.count = used;
  out.all = all;
  out.saturated = saturated;
  out.varianceLight = light + (level + fixedVariance) * used + lacking;
  return true;
}
