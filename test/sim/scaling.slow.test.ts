/** How the error grows with the ring and falls with the light: laws that hold whatever the constants. */

import { randomStream } from '@holdfast/psf';
import { buildScene, measureError } from '@holdfast/sim';
import { fractionOf, leastError } from '@holdfast/sim/internal';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { fittedScene, smallRig } from './small-rig.ts';

/** A camera whose background and read noise do not matter, and one where nothing else does. */
const photonLimited = smallRig({
  guideCamera: {
    pixelSizeUm: 4,
    exposureS: 2,
    readNoiseE: 0,
    darkEPerS: 0,
    gainEPerAdu: 0.05,
    bitDepth: 16,
    fullWellE: 1e6,
  },
  sky: { seeingFwhmArcsec: 2.5, skyMagPerArcsec2: 23 },
});
const backgroundLimited = smallRig({
  guideCamera: { pixelSizeUm: 4, exposureS: 2, readNoiseE: 40, gainEPerAdu: 1, bitDepth: 16, fullWellE: 1e6 },
});

/** Power of the growth between two values of what is varied. */
const power = (high: number, low: number, ratio: number) => Math.log(high / low) / Math.log(ratio);

describe('growth with the ring, photon-limited', () => {
  // Geometric ring blurred by a Gaussian (derived): center of mass R sqrt(1 + eps^2) / 2, bound sqrt(s R (1 -
  // eps) / 0.9032).
  const at = (focusShiftUm: number, fluxE = 50_000) => fittedScene(photonLimited, { focusShiftUm, fluxE });
  test('the least possible error grows as its square root', () => {
    expectWithin(
      power(leastError(at(1600, 1e9)), leastError(at(800, 1e9)), 2),
      0.5,
      0.02,
      'rings of 40 and 80 px, blur of 3 px',
    );
  });
  test('the center of mass grows in proportion', () => {
    const rms = (focusShiftUm: number) =>
      measureError(at(focusShiftUm), { estimator: 'centerOfMass', seed: 1, trials: 2048 }).noiseEquivalentPx
        ?.value ?? 0;
    expectWithin(
      power(rms(800), rms(400), 2),
      1,
      0.08,
      'two standard errors of 2048 frames, and what noise the border adds',
    );
  });
});

describe('fall with the light', () => {
  const ratioOf = (rig: typeof photonLimited, faint: number) =>
    power(
      leastError(buildScene(rig, { focusShiftUm: 200, fluxE: 4 * faint })),
      leastError(buildScene(rig, { focusShiftUm: 200, fluxE: faint })),
      4,
    );
  test('photon-limited: as the square root', () => {
    expectWithin(ratioOf(photonLimited, 1e5), -0.5, 0.01, 'a little sky is left');
  });
  test('background-limited: in proportion', () => {
    expectWithin(ratioOf(backgroundLimited, 500), -1, 0.02, 'a little photon noise is left');
  });
});

describe('intervals hold their level', () => {
  test('95 % intervals of a fraction hold the truth 93 to 97 % of the time', () => {
    const random = randomStream('fractions');
    const truth = 0.08;
    const repeats = 3000;
    let hits = 0;
    for (let i = 0; i < repeats; i++) {
      let lost = 0;
      for (let k = 0; k < 512; k++) if (random.uniform() < truth) lost++;
      const { low, high } = fractionOf(lost, 512);
      if (low <= truth && truth <= high) hits++;
    }
    expectWithin(hits / repeats, 0.95, 0.02, 'the level asked for');
  });
  test('95 % intervals of a simulated noise-equivalent error hold what many trials find', () => {
    const scene = fittedScene(smallRig(), { focusShiftUm: 100, snr: 40 });
    const run = (seed: string, trials: number) => {
      const rms = measureError(scene, { estimator: 'centerOfMass', seed, trials }).noiseEquivalentPx;
      if (!rms) throw new Error('nothing located');
      return rms;
    };
    const truth = run('truth', 40_000);
    const repeats = 400;
    let hits = 0;
    for (let i = 0; i < repeats; i++) {
      const { value, standardError } = run(`repeat ${i}`, 128);
      if (Math.abs(value - truth.value) <= 1.96 * standardError) hits++;
    }
    expectWithin(hits / repeats, 0.95, 0.033, 'three standard errors of 400 repeats');
    expect(truth.standardError).toBeLessThan(0.004 * truth.value);
  });
});
