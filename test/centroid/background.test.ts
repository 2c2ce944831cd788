import { backgroundAt, centerOfMass, estimateBackground } from '@holdfast/centroid';
import { createImage, randomStream, renderStar } from '@holdfast/psf';
import fc from 'fast-check';
import ndarray from 'ndarray';
import { describe, expect, test } from 'vitest';
import { expectWithin, expectWithinSigmas } from '../expect-within.ts';
import { statisticsOf } from './noisy-frames.ts';

const width = 47;
const height = 39;

/** Poisson background of `level`, with read noise; `add` is expected light on top. */
function frame(seed: string, i: number, level: number, readNoiseE: number, add?: Float64Array) {
  const random = randomStream('background', seed, i);
  const image = createImage(width, height);
  for (let k = 0; k < image.data.length; k++)
    image.data[k] = random.poisson(level + (add?.[k] ?? 0)) + readNoiseE * random.normal();
  return image;
}

function estimated(found: ReturnType<typeof estimateBackground>) {
  if (!found.ok) throw new Error(found.reason);
  return found;
}

describe('level, its uncertainty and the noise of a pixel', () => {
  const frames = 300;
  // Bias of each center in electrons: clipped mean -0.04 (derived: the third moment of photon noise beyond 3
  // sigma, 0.04 electrons); median -1/6 and mode -2.5/6 for pure photon noise, less by the share of the read
  // noise variance.
  for (const [level, readNoiseE, center, bias] of [
    [20, 3, 'mean', -0.035],
    [20, 3, 'median', -0.115],
    [20, 3, 'mode', -0.24],
    [1000, 5, 'mean', -0.04],
    [3, 1, 'mean', -0.03],
  ] as const)
    test(`${center} of ${level} electrons per pixel with a read noise of ${readNoiseE}`, () => {
      const errors: number[] = [];
      const scaled: number[] = [];
      const sigmas: number[] = [];
      for (let i = 0; i < frames; i++) {
        const found = estimated(estimateBackground(frame('level', i, level, readNoiseE), { center }));
        errors.push(found.level - level);
        scaled.push((found.level - level) / found.levelSigma);
        sigmas.push(found.sigma);
      }
      const { mean, meanError } = statisticsOf(errors);
      expectWithin(mean, bias, 0.02 + 3.5 * meanError, 'bias to two digits; 3.5 standard errors');
      const { scatter, scatterError } = statisticsOf(scaled);
      expectWithin(
        scatter,
        1,
        0.08 + 3.5 * scatterError,
        'levelSigma is the scatter; the median is in part of whole numbers',
      );
      const noise = Math.sqrt(level + readNoiseE ** 2);
      expectWithin(statisticsOf(sigmas).mean / noise, 1, 0.02, 'clipping of skewed noise');
    });

  test('a field of stars raises it little: the mode least, the mean most', () => {
    const field = createImage(width, height);
    for (const [x, y, flux] of [
      [12, 20, 5000],
      [33, 11, 20000],
      [35, 30, 800],
    ]) {
      const star = renderStar({ kind: 'moffat', fwhmPx: 3.5, beta: 3 }, { width, height, x, y, flux });
      for (let k = 0; k < star.data.length; k++) field.data[k] += star.data[k];
    }
    const bias = (center: 'mean' | 'median' | 'mode') => {
      const levels = Array.from(
        { length: 60 },
        (_, i) => estimated(estimateBackground(frame('field', i, 50, 4, field.data), { center })).level,
      );
      return statisticsOf(levels).mean - 50;
    };
    const [mean, median, mode] = [bias('mean'), bias('median'), bias('mode')];
    expect(mean).toBeGreaterThan(median);
    expect(median).toBeGreaterThan(mode);
    // The field adds 25800 electrons to 1833 pixels, 14 to the mean; most of it stands above three sigmas and
    // is left out.
    expect(mean).toBeLessThan(0.2 * 14);
    expect(Math.abs(mode)).toBeLessThan(mean / 2);
  });

  test('few photons and no read noise: it starts although more than half of the pixels are alike', () => {
    const found = estimated(estimateBackground(frame('few', 0, 0.3, 0)));
    expectWithin(
      found.level,
      0.3 - 0.07,
      0.05,
      'counts of 2 and more are clipped: -0.07 as documented; 4 standard errors',
    );
  });
});

describe('planes', () => {
  const slope = new Float64Array(width * height);
  for (let k = 0; k < slope.length; k++) slope[k] = 0.8 * (k % width) - 0.5 * Math.floor(k / width);
  const star = renderStar({ kind: 'gaussian', fwhmPx: 4 }, { width, height, x: 31.3, y: 12.6, flux: 9000 });
  const light = slope.map((v, k) => v + star.data[k]);

  test('slopes, and a level where both do not depend on each other', () => {
    const found = estimated(estimateBackground(frame('plane', 1, 60, 3, light), { plane: true }));
    // sigma / sqrt(sum (x - mean)^2) = 9 / sqrt(1833 * 184)
    expectWithin(found.slopeX, 0.8, 4 * 0.0155, '4 standard errors');
    expectWithin(found.slopeY, -0.5, 4 * 0.0187, '4 standard errors');
    expectWithin(backgroundAt(found, 0, 0), 60, 4 * 0.6, '4 standard errors at the corner');
    expectWithin(found.x0, 23, 0.5, 'near the middle, but for the star');
    expect(found.levelSigma).toBeLessThan(0.3);
  });

  test('serves as the background of an estimator, with its uncertainty', () => {
    const image = frame('plane', 2, 60, 3, light);
    const background = estimated(estimateBackground(image, { plane: true }));
    const found = centerOfMass(image, {
      background,
      guess: { x: 31, y: 13 },
      radiusPx: 8,
      noise: { readNoiseE: 3 },
    });
    if (!found.ok) throw new Error(found.reason);
    expectWithinSigmas(found.x, 31.3, found.sigmaX ?? 0, 4);
    expectWithinSigmas(found.y, 12.6, found.sigmaY ?? 0, 4);
  });

  test('too few pixels for a plane', () => {
    expect(estimateBackground(createImage(3, 1), { plane: true })).toEqual({
      ok: false,
      reason: 'too-few-pixels',
    });
    const line = createImage(9, 1, Float64Array.from([1, 2, 3, 4, 5, 6, 7, 8, 9]));
    expect(estimateBackground(line, { plane: true })).toEqual({ ok: false, reason: 'too-few-pixels' });
  });
});

describe('which pixels', () => {
  test('the border of a stamp that a star fills', () => {
    const star = renderStar({ kind: 'gaussian', fwhmPx: 11 }, { width, height, x: 23, y: 19, flux: 200000 });
    const image = frame('border', 1, 40, 2, star.data);
    const found = estimated(estimateBackground(image, { region: 'border', borderPx: 2 }));
    expect(found.pixelsUsed).toBeLessThanOrEqual(2 * 2 * (width + height - 4));
    expectWithin(
      found.level,
      40,
      4 * found.levelSigma + 0.3,
      '4 standard errors, and 0.3 electrons of the star at the edge',
    );
  });

  test('masked and non-finite pixels do not count', () => {
    const image = frame('mask', 1, 40, 2);
    const valid = new Uint8Array(width * height).fill(1);
    for (let k = 0; k < 600; k++) valid[k] = 0;
    const before = estimateBackground(image, { valid });
    for (let k = 0; k < 600; k++) image.data[k] = k % 2 === 0 ? Number.NaN : 1e6;
    expect(estimateBackground(image, { valid })).toEqual(before);
    expect(estimateBackground(createImage(5, 4), { valid: new Uint8Array(20) })).toEqual({
      ok: false,
      reason: 'too-few-pixels',
    });
  });

  test('a transposed view gives the same level, and its slopes change places', () => {
    const image = frame('turned', 1, 40, 2);
    const straight = estimated(estimateBackground(image, { plane: true }));
    const before = image.data.slice();
    const turned = estimated(estimateBackground(image.transpose(1, 0), { plane: true }));
    expectWithin(turned.level, straight.level, 1e-9, 'the order of sums');
    expectWithin(turned.slopeX, straight.slopeY, 1e-9, 'rows for columns');
    expect(image.data).toEqual(before);
  });

  test('equal pixels: their value, without noise', () => {
    const equal = createImage(8, 6, new Float64Array(48).fill(-3.5));
    for (const center of ['mean', 'median', 'mode'] as const) {
      const found = estimated(estimateBackground(equal, { center }));
      expect([found.level, found.sigma, found.levelSigma, found.pixelsUsed]).toEqual([-3.5, 0, 0, 48]);
    }
  });

  test('of many millions of pixels a choice is looked at, and not of one column', () => {
    const side = 2100;
    const image = createImage(side, side);
    for (let k = 0; k < image.data.length; k++) image.data[k] = (k % side) % 2 === 0 ? 10 : 14;
    const found = estimated(estimateBackground(image));
    expectWithin(found.level, 12, 0.02, 'even and odd columns alike');
    expect(found.pixelsUsed).toBeLessThan(1.1e6);
    expect(found.pixelsUsed).toBeGreaterThan(4e5);
  });

  test('whatever the pixels hold, every number of the answer is finite', () => {
    const pixel = fc.oneof(fc.double({ min: -100, max: 1e4 }), fc.double());
    const image = fc.array(pixel, { minLength: 24, maxLength: 24 });
    let estimates = 0;
    fc.assert(
      fc.property(image, fc.boolean(), (pixels, plane) => {
        const found = estimateBackground(ndarray(Float64Array.from(pixels), [4, 6]), { plane });
        if (!found.ok) return;
        estimates++;
        for (const value of Object.values(found))
          if (typeof value === 'number') expect(Number.isFinite(value)).toBe(true);
      }),
      { seed: 3, numRuns: 300 },
    );
    expect(estimates).toBeGreaterThan(100);
  });

  test('refuses bad calls', () => {
    const image = createImage(8, 6);
    expect(() => estimateBackground(image, { clipSigma: 0 })).toThrow(/clipSigma/);
    expect(() => estimateBackground(image, { region: 'corner' as 'border' })).toThrow(/region/);
    expect(() => estimateBackground(image, { borderPx: 0 })).toThrow(/borderPx/);
    expect(() => estimateBackground(image, { center: 'top' as 'mode' })).toThrow(/center/);
    expect(() => estimateBackground(image, { plane: true, center: 'mode' })).toThrow(/plane/);
    expect(() => estimateBackground(image, { valid: new Uint8Array(3) })).toThrow(/valid/);
  });
});
