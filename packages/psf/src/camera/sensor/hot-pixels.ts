/**
 * Hot pixels: some pixels have a dark current of their own on top of the camera's. Their rates fall off
 * exponentially, as the bright end of measured dark-current histograms does (common practice, no source).
 * With a fraction of 1 they are the spread of the dark current over all pixels.
 */

import { maxPoissonMean } from '../../chance/poisson.ts';
import type { RandomStream } from '../../chance/random.ts';
import { log } from '../../numerics/exp-log.ts';
import { requireNames } from '../../numerics/options.ts';
import { requireNonNegative, requireWithin } from '../../numerics/require.ts';

/** Pixels with a dark current of their own. */
export interface HotPixels {
  /** Share of the pixels that are hot, from 0 to 1. */
  readonly fraction: number;
  /**
   * Mean of the additional dark current of a hot pixel, electrons per second; it is distributed
   * exponentially.
   */
  readonly meanEPerS: number;
}

export function checkHotPixels(hotPixels: HotPixels): void {
  const { fraction, meanEPerS } = requireNames('camera.hotPixels', hotPixels, 'fraction meanEPerS');
  requireWithin('camera.hotPixels.fraction', fraction, 0, 1);
  requireNonNegative('camera.hotPixels.meanEPerS', meanEPerS);
}

/**
 * Additional dark current of one pixel, electrons per second; 0 for most. It takes two uniform numbers for
 * any pixel, so that the pixels that are hot at one fraction are hot at every larger one, with the same
 * rates.
 */
export function drawHotEPerS({ fraction, meanEPerS }: HotPixels, random: RandomStream): number {
  const chance = random.uniform();
  const rate = -meanEPerS * log(random.uniform());
  return chance < fraction ? rate : 0;
}

/** Add a Poisson count of each hot pixel's dark electrons. */
export function addHotElectrons(
  charge: Float64Array,
  ratesEPerS: Float64Array,
  exposureS: number,
  random: RandomStream,
): void {
  for (let k = 0; k < charge.length; k++)
    if (ratesEPerS[k] > 0) charge[k] += random.poisson(Math.min(ratesEPerS[k] * exposureS, maxPoissonMean));
}
