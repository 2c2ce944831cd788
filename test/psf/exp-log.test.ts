import { randomStream } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { exp, log } from '../../packages/psf/src/numerics/exp-log.ts';
import { expectWithin } from '../expect-within.ts';

/** Two units in the last place, in relative terms: one of ours and one of the engine that we compare with. */
const twoUlp = 2 * 2 ** -52;
const stream = randomStream('exp-log');
const between = (low: number, high: number) => low + (high - low) * stream.uniform();

describe('exp', () => {
  test.each([
    [-708, 709],
    [-1, 1],
    [-1e-5, 1e-5],
  ])('agrees with Math.exp within two last places from %d to %d', (low, high) => {
    let worst = 0;
    for (let i = 0; i < 200_000; i++) {
      const x = between(low, high);
      worst = Math.max(worst, Math.abs(exp(x) / Math.exp(x) - 1));
    }
    expectWithin(worst, 0, twoUlp, 'last places');
  });

  test('has its ends where numbers end', () => {
    expect(exp(0)).toBe(1);
    expect(exp(-0)).toBe(1);
    expect(exp(709.79)).toBe(Infinity);
    expectWithin(exp(709.78) / Math.exp(709.78), 1, twoUlp, 'last places');
    expect([exp(Infinity), exp(-Infinity), exp(-745.2), exp(-1e9)]).toEqual([Infinity, 0, 0, 0]);
    expect(exp(Number.NaN)).toBeNaN();
    // Below 2^-1022 per number is a multiple of 2^-1074.
    for (const x of [-708.5, -720, -740, -745])
      expectWithin(exp(x), Math.exp(x), Number.MIN_VALUE + twoUlp * exp(x), 'last places');
  });

  test('rises with its argument across the seams of its reduction', () => {
    for (let k = -20; k <= 20; k++) {
      const seam = (k + 0.5) * Math.LN2;
      expect(exp(seam + 1e-14)).toBeGreaterThan(exp(seam - 1e-14));
    }
  });
});

describe('log', () => {
  test.each([
    [0, 1e-300],
    [1e-9, 1],
    [0.5, 2],
    [1 - 1e-6, 1 + 1e-6],
    [1, 1e18],
  ])('agrees with Math.log within two last places from %d to %d', (low, high) => {
    let worst = 0;
    for (let i = 0; i < 200_000; i++) {
      const x = between(low, high);
      if (x !== 1) worst = Math.max(worst, Math.abs(log(x) / Math.log(x) - 1));
    }
    expectWithin(worst, 0, twoUlp, 'last places');
  });

  test('has its ends where numbers end', () => {
    expect([log(1), log(0), log(Infinity)]).toEqual([0, -Infinity, Infinity]);
    expect(log(-1)).toBeNaN();
    expect(log(Number.NaN)).toBeNaN();
    for (const x of [Number.MIN_VALUE, 2 ** -1030, 2 ** -1022, Number.MAX_VALUE])
      expectWithin(log(x) / Math.log(x), 1, twoUlp, 'last places');
  });

  test('undoes exp', () => {
    for (let i = 0; i < 10_000; i++) {
      const x = between(-700, 700);
      expectWithin(log(exp(x)), x, 2e-16 * (1 + Math.abs(x)) + twoUlp, 'last place of x, and of exp');
    }
  });
});
