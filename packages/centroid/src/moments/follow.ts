/** How the center of mass follows its window, by the whole pixels that come and go. */

import type { Follow } from '../pixels/recentering.ts';
import type { PixelList } from '../pixels/valid-pixels.ts';
import type { Moments } from '../pixels/window-sums.ts';
import type { MomentErrors, PixelWeights, RoundWindow } from './moments.ts';

/** Largest trial step of the window, px: the list of pixels must reach so far beyond the rim. */
export const largestStepPx = 3;

/** Smallest one: below it hardly any pixel comes or goes. */
const leastStepPx = 0.02;

/** Trial step over the error of the position: what noise does to the window is of this size. */
const stepPerSigma = 2;

/** How large a follow is in practice: a star's light thins out toward the rim. */
const usualFollow = 0.4;

/**
 * Overwrite \`out\` with the shift of the position per shift of the window: the weight of the pixels that
 * come and go when it moves by some errors of the position either way, by their moment. Errors of a window
 * that is centered again and again on the position found grow by 1 / (1 - follow).
 *
 * The weights of one frame carry noise, whose own follow N' has a variance V. It does not widen the errors:
 * places where a random function meets c = N(c) are distributed as N itself (Kac's and Rice's formula for the
 * zeros of c - N(c); derived). But the window comes to rest rather where N' < 0, on average at -V. So V is
 * added back, and the rest is shrunk by u^2 / (u^2 + V), u = the usual follow. (Measured: pulls of 1.05
 * instead of 1.14 to 1.24 at SNR 10.)
 *
 * @param list        the pixels out to \`largestStepPx\` beyond the rim
 * @param isExpected  the weights are expected ones, without noise
 */
export function sumFollow(
  out: Follow,
  { x, y, total }: Moments,
  { varianceX, varianceY }: MomentErrors,
  { count, column, row }: PixelList,
  { weight, variance }: PixelWeights,
  { centerX, centerY, radiusPx }: RoundWindow,
  isExpected: boolean,
): void {
  const stepX = stepFor(varianceX);
  const stepY = stepFor(varianceY);
  const radius2 = radiusPx * radiusPx;
  const beyondX = radius2 - stepX * stepX;
  const beyondY = radius2 - stepY * stepY;
  let followX = 0;
  let followY = 0;
  let noiseX = 0;
  let noiseY = 0;
  for (let k = 0; k < count; k++) {
    const rx = column[k] - centerX;
    const ry = row[k] - centerY;
    const r2 = rx * rx + ry * ry;
    // Within the window moved one way, less within the window moved the other way.
    const isNewX = +(r2 - 2 * rx * stepX <= beyondX) - +(r2 + 2 * rx * stepX <= beyondX);
    const isNewY = +(r2 - 2 * ry * stepY <= beyondY) - +(r2 + 2 * ry * stepY <= beyondY);
    const dx = isNewX * (column[k] - x);
    const dy = isNewY * (row[k] - y);
    followX += weight[k] * dx;
    followY += weight[k] * dy;
    noiseX += variance[k] * dx * dx;
    noiseY += variance[k] * dy * dy;
  }
  const perX = 1 / (2 * stepX * total);
  const perY = 1 / (2 * stepY * total);
  out.x = withoutNoise(followX * perX, isExpected ? 0 : noiseX * perX * perX);
  out.y = withoutNoise(followY * perY, isExpected ? 0 : noiseY * perY * perY);
}

/** Trial step of the window along an axis of this variance of the position, px. */
export const stepFor = (variance: number): number =>
  Math.max(leastStepPx, Math.min(largestStepPx, stepPerSigma * Math.sqrt(variance)));

const withoutNoise = (follow: number, variance: number): number =>
  (follow + variance) * ((usualFollow * usualFollow) / (usualFollow * usualFollow + variance));
