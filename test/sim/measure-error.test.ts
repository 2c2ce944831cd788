import { buildScene, compareEstimators, estimatorNames, measureError } from '@holdfast/sim';
import { analyticErrorPx, leastError } from '@holdfast/sim/internal';
import { describe, expect, test } from 'vitest';
import { expectWithin, expectWithinSigmas } from '../expect-within.ts';
import { fittedScene, smallRig } from './small-rig.ts';

const bright = fittedScene(smallRig(), { focusShiftUm: 120, snr: 200 });

describe('position error by trials', () => {
  test('the same seed gives the same result, another seed another', () => {
    const run = (seed: string) => measureError(bright, { estimator: 'centerOfMass', seed, trials: 128 });
    expect(run('a')).toEqual(run('a'));
    expect(run('a').noiseEquivalentPx).not.toEqual(run('b').noiseEquivalentPx);
  });
  test('estimators see the same frames: one alone gives what it gives beside others', () => {
    const together = compareEstimators(bright, { estimators: estimatorNames, seed: 3, trials: 128 });
    for (const error of together)
      expect(measureError(bright, { estimator: error.estimator, seed: 3, trials: 128 })).toEqual(error);
  });
  test('more trials do not change the first ones', () => {
    const few = measureError(bright, { estimator: 'centerOfMass', seed: 3, trials: 64 });
    const many = measureError(bright, { estimator: 'centerOfMass', seed: 3, trials: 4096 });
    expectWithinSigmas(
      few.noiseEquivalentPx?.value ?? 0,
      many.noiseEquivalentPx?.value ?? 1,
      few.noiseEquivalentPx?.standardError ?? 0,
      4,
    );
    expect(many.noiseEquivalentPx?.standardError).toBeLessThan(
      (few.noiseEquivalentPx?.standardError ?? 0) / 4,
    );
  });
  test('every estimator is unbiased on a bright ring and predicts its own scatter', () => {
    for (const error of compareEstimators(bright, { estimators: estimatorNames, seed: 5, trials: 1024 })) {
      const { estimator, offsetXPx, offsetYPx, noiseEquivalentPx, predictedPx, lostFraction } = error;
      if (!offsetXPx || !offsetYPx || !noiseEquivalentPx || !predictedPx)
        throw new Error(`${estimator} found nothing`);
      expectWithinSigmas(offsetXPx.value, 0, offsetXPx.standardError, 4);
      expectWithinSigmas(offsetYPx.value, 0, offsetYPx.standardError, 4);
      // A Gaussian does not describe a ring and a threshold follows the noise: their predictions are
      // first-order.
      expectWithin(predictedPx / noiseEquivalentPx.value, 1, 0.1, `${estimator}: first-order prediction`);
      expect(lostFraction.value).toBe(0);
    }
  });
  test('where the noise of the frames tells nothing, an error is as sure as by counting', () => {
    // Half of the frames are lost: little is known of those that are not.
    const faint = fittedScene(smallRig(), { focusShiftUm: 120, snr: 5 });
    const { located, plainTrials, trials } = measureError(faint, {
      estimator: 'centerOfMass',
      seed: 1,
      trials: 256,
    });
    expect(located).toBeLessThan(0.99 * trials);
    expect(plainTrials).toBe(located);
  });
  test('bias is told by the place in the pixel: a sharp star is pulled toward the pixel center, as theory says', () => {
    // Center of mass of a Gaussian integrated over the pixel: error -(1/pi) exp(-2 pi^2 s^2) sin(2 pi x),
    // leading term of the sampling series (derived; the same analysis in Alexander & Ng 1991, Opt. Eng. 30,
    // 1320, from memory).
    const rig = smallRig({
      sky: { seeingFwhmArcsec: 1.33 },
      guideCamera: {
        pixelSizeUm: 8,
        exposureS: 2,
        readNoiseE: 0.5,
        gainEPerAdu: 1,
        bitDepth: 16,
        fullWellE: 1e6,
      },
    });
    const scene = buildScene(rig, { focusShiftUm: 0, fluxE: 20_000 });
    const sigma = scene.blurFwhmPx / 2.3548200450309493;
    const { errorByPhasePx } = measureError(scene, { estimator: 'centerOfMass', seed: 11, trials: 2048 });
    expect(errorByPhasePx?.length).toBe(8);
    errorByPhasePx?.forEach((bias, i) => {
      // Each eighth of the pixel holds two of the 16 columns in which the star stands.
      const middle = -0.5 + (i + 0.5) / 8;
      const mean = [-1 / 32, 1 / 32].reduce((sum, d) => sum + Math.sin(2 * Math.PI * (middle + d)) / 2, 0);
      const expected = -(1 / Math.PI) * Math.exp(-2 * Math.PI ** 2 * sigma ** 2) * mean;
      expect(Math.abs(expected)).toBeGreaterThan(0.01);
      expectWithinSigmas(bias?.value ?? Number.NaN, expected, bias?.standardError ?? 0, 4);
    });
  });
  test('outliers are counted, not hidden: a faint ring has them, a bright star none', () => {
    const faint = fittedScene(smallRig(), { focusShiftUm: 100, snr: 6 });
    const outliers = (thresholdSigma: number) =>
      measureError(faint, {
        estimator: { estimator: 'thresholdedCenterOfMass', thresholdSigma },
        seed: 12,
        trials: 2048,
      });
    const few = outliers(2);
    // A higher threshold leaves so little of a faint ring that one noisy pixel may carry the position.
    expect(outliers(3).outlierFraction?.low).toBeGreaterThan(few.outlierFraction?.high ?? 1);
    expect(few.outlierFraction?.high).toBeLessThan(0.02);
    expect(
      measureError(bright, { estimator: 'centerOfMass', seed: 12, trials: 1024 }).outlierFraction?.value,
    ).toBe(0);
  });
  test('no estimator beats the least possible error', () => {
    for (const focusShiftUm of [0, 60, 200]) {
      const scene = fittedScene(smallRig(), { focusShiftUm, snr: 60 });
      for (const { boundRatio } of compareEstimators(scene, {
        estimators: estimatorNames,
        seed: 6,
        trials: 256,
      }))
        expect(boundRatio && boundRatio.value + 4 * boundRatio.standardError).toBeGreaterThan(1);
    }
  });
  test('a saturated star is measured and flagged: by its flanks with a fit, as it is with a center of mass', () => {
    const scene = buildScene(smallRig(), { focusShiftUm: 0, fluxE: 300_000 });
    for (const estimator of [
      'centerOfMass',
      'thresholdedCenterOfMass',
      'gaussianFit',
      'crossCorrelation',
      'templateFit',
    ] as const) {
      const error = measureError(scene, { estimator, seed: 13, trials: 64 });
      expect(error.saturatedFraction.value).toBe(1);
      expect(error.lostFraction.value).toBe(0);
      // The bound is of the whole star: what the saturated middle knew is lost.
      expect(error.boundRatio?.value).toBeGreaterThan(1.5);
      expect(error.noiseEquivalentPx?.value).toBeLessThan(0.2);
    }
  });
  test('a star too faint is lost, and the reasons add up', () => {
    const faint = fittedScene(smallRig(), { focusShiftUm: 400, snr: 2 });
    const error = measureError(faint, { estimator: 'centerOfMass', seed: 7, trials: 256 });
    expect(error.lostFraction.value).toBeGreaterThan(0.5);
    const told = Object.values(error.lostReasons).reduce((a, b) => a + b, 0);
    expect(told).toBe(error.trials - error.located);
  });
  test('the center of mass has the error that the formula gives, where that is exact', () => {
    // Bright star, aperture that holds it: first order in the noise is all there is.
    const deep = smallRig({
      guideCamera: {
        pixelSizeUm: 4,
        exposureS: 2,
        readNoiseE: 2,
        gainEPerAdu: 1,
        bitDepth: 16,
        fullWellE: 60_000,
      },
    });
    for (const focusShiftUm of [0, 100, 300]) {
      const scene = fittedScene(deep, { focusShiftUm, snr: 150 });
      const { noiseEquivalentPx } = measureError(scene, {
        estimator: 'centerOfMass',
        seed: 13,
        trials: 8192,
      });
      const formula = analyticErrorPx(scene, 'centerOfMass') ?? 0;
      expectWithinSigmas(
        noiseEquivalentPx?.value ?? 0,
        formula,
        (noiseEquivalentPx?.standardError ?? 0) + 0.005 * formula,
        3,
      );
    }
  });
  test('memory is asked for before it is taken', () => {
    const many = Array.from({ length: 50 }, () => 'centerOfMass' as const);
    expect(() => compareEstimators(bright, { estimators: many, seed: 1, trials: 1e7 })).toThrow(
      /trials must be at most 138888 for 50 estimators, got 10000000/,
    );
  });
  test('it stops early when the wished precision is reached', () => {
    const error = measureError(bright, {
      estimator: 'centerOfMass',
      seed: 8,
      trials: 100_000,
      relativePrecision: 0.03,
    });
    expect(error.trials).toBeLessThan(5000);
    expect(
      error.noiseEquivalentPx && error.noiseEquivalentPx.standardError / error.noiseEquivalentPx.value,
    ).toBeLessThanOrEqual(0.03);
  });
  test.each([0, 1.5, 2e7, Number.NaN])('trials = %d is refused', (trials) => {
    expect(() => measureError(bright, { estimator: 'centerOfMass', seed: 1, trials })).toThrow(
      /trials must be/,
    );
  });
});

test('the least possible error of a star in focus without noise is its width over the root of its light', () => {
  // Winick 1986 (from memory), photon limit; s^2 -> s^2 + 1/12 for square pixels.
  const rig = smallRig({
    guideCamera: { pixelSizeUm: 4, exposureS: 2, readNoiseE: 0, darkEPerS: 0, gainEPerAdu: 0.01 },
    sky: { seeingFwhmArcsec: 4, skyMagPerArcsec2: 23 },
  });
  const scene = buildScene(rig, { focusShiftUm: 0, magnitude: 5 });
  const sigma = scene.blurFwhmPx / 2.3548200450309493;
  const expected = Math.sqrt((sigma * sigma + 1 / 12) / scene.fluxE);
  expectWithin(leastError(scene) / expected, 1, 2e-3, 'a little sky is left');
});
