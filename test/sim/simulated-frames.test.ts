/** Frames of a scene: where the star stands in them, and what they hold. */
import { buildScene, simulateFrames } from '@holdfast/sim';
import { expect, test } from 'vitest';
import { placeOf, places, roundSize } from '../../packages/sim/src/trials/simulated-frames.ts';
import { expectWithin, expectWithinSigmas } from '../expect-within.ts';
import { smallRig } from './small-rig.ts';

const scene = buildScene(smallRig(), { focusShiftUm: 80, snr: 40 });

test('a round of places fills columns and rows of the pixel evenly, and averages waves of the pixel away', () => {
  const round = Array.from({ length: places }, (_, i) => placeOf(i));
  const even = Array.from({ length: places }, (_, i) => (i + 0.5) / places);
  expect(round.map(({ x }) => x)).toEqual(even);
  expect(round.map(({ y }) => y).sort((a, b) => a - b)).toEqual(even);
  expect(roundSize % places).toBe(0);
  for (const [h, k] of [
    [1, 0],
    [0, 1],
    [1, 1],
    [1, -1],
    [2, 1],
    [2, 2],
    [3, 0],
    [0, 7],
  ]) {
    const sum = round.reduce((total, { x, y }) => total + Math.cos(2 * Math.PI * (h * x + k * y)), 0);
    expectWithin(sum / places, 0, 1e-14, `wave (${h}, ${k}); rounding`);
  }
});

test('the star stands where a frame says, and its light and background are the scene’s', () => {
  const frames = simulateFrames(scene, 'where');
  let [light, offX, offY, n] = [0, 0, 0, 0];
  for (let trial = 0; trial < 64 * roundSize; trial++) {
    const { pixels, x, y } = frames.frame(trial);
    expect(x).toBe(scene.column - 0.5 + placeOf(trial).x);
    expect(y).toBe(scene.row - 0.5 + placeOf(trial).y);
    pixels.forEach((electrons, k) => {
      light += electrons - scene.backgroundE;
      offX += (electrons - scene.backgroundE) * ((k % scene.width) - x);
      offY += (electrons - scene.backgroundE) * (Math.floor(k / scene.width) - y);
    });
    n++;
  }
  // Noise of the whole stamp; of its first moments by the spread of the pixels about the star.
  const variance = scene.backgroundE + scene.pixelNoiseE ** 2;
  const area = scene.width * scene.height;
  const spread = (scene.width ** 2 + 1) / 12;
  // The seeing's wings beyond the stamp hold less than 1e-3 of the light.
  expectWithin(
    light / n,
    scene.fluxE,
    1e-3 * scene.fluxE + 4 * Math.sqrt((scene.fluxE + area * variance) / n),
    'noise',
  );
  for (const off of [offX, offY])
    expectWithinSigmas(
      off / n,
      0,
      Math.sqrt((scene.fluxE * scene.outerDiameterPx ** 2 + area * variance * spread) / n),
      4,
    );
});

test('a frame is a function of seed and trial, whatever was asked before', () => {
  const a = simulateFrames(scene, 7);
  const b = simulateFrames(scene, 7);
  const alone = Float64Array.from(b.frame(37).pixels);
  for (const trial of [5, 21, 37]) a.frame(trial);
  expect(a.frame(37).pixels).toEqual(alone);
  expect(a.frame(53).pixels).not.toEqual(alone);
  expect(simulateFrames(scene, 8).frame(37).pixels).not.toEqual(alone);
});
