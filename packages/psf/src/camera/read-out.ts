/**
 * From what pixels deliver to numbers: read noise, row noise, offset, gain, whole ADU, and back to electrons.
 *
 *   ADU = (delivered + offset of the pixel + Normal(0, read noise of the pixel) + noise of the row) / gain +
 *   offset,
 *
 * rounded and cut to the output range. Read noise and row noise have streams of their own, 'read' and 'row';
 * a row has one normal number per frame.
 */

import type { RandomStream } from '../chance/random.ts';
import type { ImageSize } from '../shapes/star-plan.ts';
import type { ResolvedCamera } from './camera.ts';
import { largestAdu, wholeAdu } from './output-range.ts';
import type { PixelMaps } from './sensor/sensor-pixels.ts';

/** Overwrites `out`, which may be `delivered` itself. */
export type ReadOut = (out: Float64Array, delivered: Float64Array, random: RandomStream) => void;

/**
 * @param size pixels to read; where they are sums of `step` * `step` sensor pixels, each is read by the first
 *   of them
 * @param maps  of sensor pixels
 */
export function prepareReadOut(
  camera: ResolvedCamera,
  size: ImageSize,
  maps: PixelMaps,
  step: number,
): ReadOut {
  const { readNoiseE, rowNoiseE, gainEPerAdu, offsetAdu } = camera;
  const { offsetE, readNoiseE: noiseOfPixel } = maps;
  const { width, height } = size;
  const highestAdu = largestAdu(camera);

  return (out, delivered, random) => {
    const read = random.stream('read');
    const row = rowNoiseE > 0 ? random.stream('row') : undefined;
    for (let y = 0, k = 0; y < height; y++) {
      const rowE = row ? rowNoiseE * row.normal() : 0;
      for (let x = 0, at = y * step * width * step; x < width; x++, k++, at += step) {
        const sigmaE = noiseOfPixel ? noiseOfPixel[at] : readNoiseE;
        const fixedE = offsetE ? offsetE[at] : 0;
        const electrons = delivered[k] + sigmaE * read.normal() + fixedE + rowE;
        out[k] = (wholeAdu(electrons / gainEPerAdu + offsetAdu, highestAdu) - offsetAdu) * gainEPerAdu;
      }
    }
  };
}
