/**
 * Frozen numbers: what the code gave when this was written. They may be wrong; they are here so that a change
 * which alters the pixels of every simulated sensor cannot pass unseen, and so that two machines can be
 * compared.
 */
import { type Camera, prepareExposure, randomStream } from '@holdfast/psf';
import { expect, test } from 'vitest';
import { sensorPixels } from '../../packages/psf/src/camera/sensor/sensor-pixels.ts';

/** A number that changes when any bit of any value does (FNV-1a over 32-bit words). */
function digest(values: Float64Array): string {
  let hash = 0x811c9dc5;
  for (const word of new Uint32Array(values.slice().buffer)) hash = Math.imul(hash ^ word, 0x01000193);
  return (hash >>> 0).toString(16);
}

const camera: Camera = {
  readNoiseE: 1.5,
  gainEPerAdu: 0.5,
  offsetAdu: 100,
  bitDepth: 12,
  fullWellE: 1500,
  darkEPerS: 0.5,
  exposureS: 4,
  readNoiseTail: { fraction: 0.02, noiseRatio: 4 },
  rowNoiseE: 0.4,
  prnu: 0.01,
  dsnuE: 1,
  hotPixels: { fraction: 0.01, meanEPerS: 20 },
  cosmicRays: { ratePerCm2PerMin: 100_000, pixelSizeUm: 3.75 },
  nonLinearity: { kneeFraction: 0.5, lossAtFullWell: 0.05 },
  sensorSeed: 'frozen',
};
const window = { width: 72, height: 50, originX: 600, originY: 413 };

test('the pixels of a sensor stay what they were, to the last bit', () => {
  const { response, offsetE, hotEPerS, readNoiseE } = sensorPixels(camera, window);
  expect([response, offsetE, hotEPerS, readNoiseE].map(digest)).toEqual([
    'a89bbbb6',
    'e606e540',
    '1f5a1426',
    'b8049445',
  ]);
});

test('a frame with every source of noise stays what it was', () => {
  const expected = Float64Array.from({ length: 72 * 50 }, (_, k) => 0.4 * k);
  const frame = new Float64Array(expected.length);
  prepareExposure(camera, window).exposeInto(frame, expected, randomStream('frozen', 'camera'));
  expect(digest(frame)).toBe('f2aff845');
});
