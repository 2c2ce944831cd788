import { randomStream } from '@holdfast/psf';
import { fractionOf, meanOf, rmsPerAxis, scatterOf } from '@holdfast/sim/internal';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';

const normals = (seed: string, count: number, scale = 1, shift = 0): Float64Array => {
  const random = randomStream('statistics', seed);
  return Float64Array.from({ length: count }, () => shift + scale * random.normal());
};

describe('estimates and their standard errors', () => {
  test('mean and scatter of a small sample by hand', () => {
    // 1, 2, 4, 5: mean 3, sample variance 10/3.
    const values = Float64Array.of(1, 2, 4, 5);
    expect(meanOf(values)).toEqual({ value: 3, standardError: Math.sqrt(10 / 3 / 4) });
    expect(scatterOf(values).value).toBeCloseTo(Math.sqrt(10 / 3), 14);
  });
  test('only the first values count', () => {
    expect(meanOf(Float64Array.of(1, 2, 99), 2).value).toBe(1.5);
  });
  test.each([
    ['mean', (seed: string) => meanOf(normals(seed, 400, 2, 0.3)), 0.3],
    ['scatter', (seed: string) => scatterOf(normals(seed, 400, 2, 0.3)), 2],
    ['rms', (seed: string) => rmsPerAxis(normals(`${seed}x`, 400, 2), normals(`${seed}y`, 400, 2)), 2],
  ])('95 %% intervals of the %s hold the truth 93 to 97 %% of the time', (_, estimate, truth) => {
    const repeats = 2000;
    let hits = 0;
    for (let i = 0; i < repeats; i++) {
      const { value, standardError } = estimate(String(i));
      if (Math.abs(value - truth) <= 1.959964 * standardError) hits++;
    }
    expectWithin(hits / repeats, 0.95, 0.02, 'four standard errors of 2000 repeats');
  });
});

describe('fractions', () => {
  test.each([
    // Wilson score interval, worked by hand: (p + z^2/2n +- z sqrt(p q/n + z^2/4n^2)) / (1 + z^2/n).
    [0, 10, 0, 0.277533],
    [5, 10, 0.236593, 0.763407],
    [1, 100, 0.0017674, 0.0544862],
  ])('%i of %i', (hits, count, low, high) => {
    const got = fractionOf(hits, count);
    expect(got.value).toBe(hits / count);
    expectWithin(got.low, low, 2e-6, 'six printed digits');
    expectWithin(got.high, high, 2e-6, 'six printed digits');
  });
  test('all and none end at 1 and 0', () => {
    expect(fractionOf(10, 10).high).toBe(1);
    expect(fractionOf(0, 10).low).toBe(0);
  });
  test('impossible counts are refused', () => {
    expect(() => fractionOf(3, 2)).toThrow(/hits must be in \[0, count\], got 3 of 2/);
    expect(() => fractionOf(0, 0)).toThrow(RangeError);
  });
});
