/**
 * From light to what each pixel of the sensor delivers, in electrons:
 *
 *   held      = min(Poisson(expected + dark) + hot pixel's dark + cosmic rays, full well)
 *   delivered = response * non-linearity(held)
 *
 * A full pixel keeps its surplus to itself: nothing spills into its neighbors (no blooming), and nothing
 * stays behind for the next frame. Each source of chance has its own stream: 'photon', 'hot', 'cosmic'.
 */

import { maxPoissonMean } from '../chance/poisson.ts';
import type { RandomStream } from '../chance/random.ts';
import type { ImageSize } from '../shapes/star-plan.ts';
import type { ResolvedCamera } from './camera.ts';
import { prepareCosmicRays } from './cosmic-rays.ts';
import { deliver } from './non-linearity.ts';
import { addHotElectrons } from './sensor/hot-pixels.ts';
import type { PixelMaps } from './sensor/sensor-pixels.ts';

/** Overwrites `charge`, which may be `expected` itself. */
export type ChargeCollection = (charge: Float64Array, expected: Float64Array, random: RandomStream) => void;

export function prepareCollection(
  camera: ResolvedCamera,
  size: ImageSize,
  maps: PixelMaps,
): ChargeCollection {
  const { fullWellE, exposureS, nonLinearity } = camera;
  const { response, hotEPerS } = maps;
  const pixels = size.width * size.height;
  const darkE = camera.darkEPerS * exposureS;
  const highestExpected = maxPoissonMean - darkE;
  const shower = camera.cosmicRays && prepareCosmicRays(camera.cosmicRays, exposureS, size);

  return (charge, expected, random) => {
    for (let k = 0; k < pixels; k++)
      if (!(expected[k] >= 0 && expected[k] <= highestExpected))
        throw lightFault(expected[k], k, size.width, highestExpected);
    const photon = random.stream('photon');
    for (let k = 0; k < pixels; k++) charge[k] = photon.poisson(expected[k] + darkE);
    if (hotEPerS) addHotElectrons(charge, hotEPerS, exposureS, random.stream('hot'));
    if (shower) shower(charge, random.stream('cosmic'));
    for (let k = 0; k < pixels; k++) charge[k] = Math.min(charge[k], fullWellE);
    if (nonLinearity)
      for (let k = 0; k < pixels; k++) charge[k] = deliver(charge[k], fullWellE, nonLinearity);
    if (response) for (let k = 0; k < pixels; k++) charge[k] *= response[k];
  };
}

/** What is wrong with the expected light of the k-th pixel. */
export function lightFault(got: number, k: number, width: number, highest: number): RangeError {
  const x = k % width;
  const at = `x = ${x}, y = ${(k - x) / width}`;
  return new RangeError(`expected must be in [0, ${highest}], got ${got} at ${at}`);
}
