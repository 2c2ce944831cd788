import { type Camera, createImage, exposeFrame, pixelNoiseE, randomStream, saturationE } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { collectedE, deliveredE, type WellResponse } from '../../packages/psf/src/camera/non-linearity.ts';
import { expectWithin, expectWithinSigmas } from '../expect-within.ts';
import { moments } from './goodness-of-fit.ts';

const well = (kneeFraction: number, lossAtFullWell: number, fullWellE = 10_000): WellResponse => ({
  fullWellE,
  nonLinearity: { kneeFraction, lossAtFullWell },
});
const curves = [well(0.5, 0.1), well(0.8, 0.02), well(0, 0.3), well(0, 0.5), well(0.9, 0.05), well(0.7, 0)];

describe('the curve', () => {
  test('by hand: knee at half of the well, a tenth missing when full', () => {
    const camera = well(0.5, 0.1);
    expect(deliveredE(0, camera)).toBe(0);
    expect(deliveredE(5000, camera)).toBe(5000);
    expect(deliveredE(7500, camera)).toBe(7250);
    expect(deliveredE(10_000, camera)).toBe(9000);
    expect(deliveredE(Infinity, camera)).toBe(9000);
  });

  test('a camera without it is linear up to the full well', () => {
    expect(deliveredE(7500, { fullWellE: 10_000 })).toBe(7500);
    expect(deliveredE(17_500, { fullWellE: 10_000 })).toBe(10_000);
    expect(collectedE(7500, { fullWellE: 10_000 })).toBe(7500);
    expect(collectedE(17_500, { fullWellE: 10_000 })).toBe(10_000);
  });

  test.each(curves)('leaves the knee without a kink and never falls: %o', (camera) => {
    const { fullWellE, nonLinearity } = camera;
    const { kneeFraction = 0, lossAtFullWell = 0 } = nonLinearity ?? {};
    let last = -1;
    for (let q = 0; q <= fullWellE; q += 10) {
      const now = deliveredE(q, camera);
      expect(now).toBeGreaterThan(last);
      last = now;
    }
    expectWithin(last, fullWellE * (1 - lossAtFullWell), 1e-9, 'rounding');
    // The slope 1 - 2 a s / (1 - k) by differences, exact for a parabola but for the rounding of 1e-12 / 0.2.
    for (const s of [0, 0.3, 0.99]) {
      const q = fullWellE * (kneeFraction + s * (1 - kneeFraction));
      const slope =
        (deliveredE(q + 0.1, camera) - deliveredE(Math.max(0, q - 0.1), camera)) / (q < 0.1 ? 0.1 : 0.2);
      const expected = 1 - (2 * lossAtFullWell * s) / (1 - kneeFraction);
      // Where one side of the difference is straight or left out, the bend over it shows: at most a 0.1 / (W
      // (1 - k)^2).
      const bend = (lossAtFullWell * 0.1) / (fullWellE * (1 - kneeFraction) ** 2);
      expectWithin(slope, expected, 1e-10 + 1.01 * (s === 0 ? bend : 0), 'rounding, bend at the knee');
    }
  });

  test.each(curves)('comes back by its inverse: %o', (camera) => {
    for (let q = 0; q <= camera.fullWellE; q += 7) {
      const back = collectedE(deliveredE(q, camera), camera);
      // Where the curve ends level, the inverse of a rounding error e is sqrt(e): only there.
      const { kneeFraction = 0, lossAtFullWell = 0 } = camera.nonLinearity ?? {};
      const tolerance = lossAtFullWell + kneeFraction / 2 === 0.5 ? 1e-3 : 1e-9;
      expectWithin(back, q, tolerance, 'rounding over the slope');
    }
  });

  test('the inverse takes what noise makes of a pixel', () => {
    const camera = well(0.5, 0.1);
    expect(collectedE(-12, camera)).toBe(-12);
    expect(collectedE(9000, camera)).toBe(10_000);
    expect(collectedE(9400, camera)).toBe(10_000);
  });
});

describe('in a frame', () => {
  const width = 220;
  const height = 150;
  const n = width * height;
  const camera: Camera = {
    readNoiseE: 5,
    gainEPerAdu: 1,
    offsetAdu: 500,
    bitDepth: 16,
    fullWellE: 20_000,
    nonLinearity: { kneeFraction: 0.6, lossAtFullWell: 0.08 },
  };
  const gray = (electrons: number) =>
    moments(
      exposeFrame(
        createImage(width, height, new Float64Array(n).fill(electrons)),
        camera,
        randomStream('curve', electrons),
      ).data,
    );

  test.each([6000, 14_000, 17_000, 19_000])('mean and variance at %d electrons follow the curve', (q) => {
    const { mean, variance } = gray(q);
    // Expanded to second order around q: s'' = -2 a / (W (1 - k)^2).
    const s = Math.max(0, (q / 20_000 - 0.6) / 0.4);
    const slope = 1 - (2 * 0.08 * s) / 0.4;
    const bend = s > 0 ? (-2 * 0.08) / (20_000 * 0.4 ** 2) : 0;
    const expected = slope ** 2 * q + (bend * q) ** 2 / 2 + 25 + 1 / 12;
    expectWithinSigmas(mean, deliveredE(q, camera) + (bend * q) / 2, Math.sqrt(expected / n), 4);
    expectWithinSigmas(variance, expected, expected * Math.sqrt(2 / n), 4);
  });

  test('the photon transfer curve turns before the well is full', () => {
    // slope^2 q: 12,000, 11,340, 10,240, 8820; neighbors differ by 5 standard errors and more.
    const variances = [12_000, 14_000, 16_000, 18_000].map((q) => gray(q).variance);
    expect(variances[1]).toBeLessThan(variances[0]);
    expect(variances[2]).toBeLessThan(variances[1]);
    expect(variances[3]).toBeLessThan(variances[2]);
  });

  test('saturation is counted from what a full pixel delivers', () => {
    expectWithin(saturationE(camera), 18_400 - 4 * pixelNoiseE(camera), 1e-9, 'rounding');
    const { mean, variance } = gray(25_000);
    expectWithinSigmas(mean, 18_400, pixelNoiseE(camera) / Math.sqrt(n), 4);
    expectWithinSigmas(variance, 25 + 1 / 12, (25 + 1 / 12) * Math.sqrt(2 / n), 4);
  });
});

describe('calls', () => {
  test.each([
    [well(1, 0), 'camera.nonLinearity.kneeFraction must be in [0, 1), got 1'],
    [well(-0.1, 0), 'camera.nonLinearity.kneeFraction must be in [0, 1), got -0.1'],
    [well(0.5, 0.3), 'camera.nonLinearity.lossAtFullWell must be at most (1 - kneeFraction) / 2, got 0.3'],
    [well(0.5, Number.NaN), 'camera.nonLinearity.lossAtFullWell must be a finite number >= 0, got NaN'],
    [well(0.5, 0.1, 0), 'camera.fullWellE must be a finite number > 0, got 0'],
  ])('%o is refused', (camera, message) => {
    expect(() => deliveredE(1, camera)).toThrow(new RangeError(message));
    expect(() => collectedE(1, camera)).toThrow(new RangeError(message));
  });

  test('a charge that is none is refused', () => {
    expect(() => deliveredE(-1, well(0.5, 0.1))).toThrow(new RangeError('chargeE must be >= 0, got -1'));
    expect(() => deliveredE(Number.NaN, well(0.5, 0.1))).toThrow(RangeError);
    expect(() => collectedE(Infinity, well(0.5, 0.1))).toThrow(
      new RangeError('deliveredE must be a finite number, got Infinity'),
    );
  });
});
