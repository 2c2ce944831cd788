/** Zernike polynomials: order of the indices, closed forms, unit mean square, slopes, high orders. */
import { nollIndex, zernikeOrder, zernikeValue } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { pupilNodes } from '../../packages/psf/src/waves/pupil-moments.ts';
import { zernikeSum } from '../../packages/psf/src/waves/zernike.ts';
import { expectWithin } from '../expect-within.ts';

const unit = (noll: number): Float64Array => {
  const coefficients = new Float64Array(noll + 1);
  coefficients[noll] = 1;
  return coefficients;
};

describe('indices', () => {
  // Noll 1976, JOSA 66, 207, table I (from memory): even indices are cosines.
  test.each([
    [1, 0, 0],
    [2, 1, 1],
    [3, 1, -1],
    [4, 2, 0],
    [5, 2, -2],
    [6, 2, 2],
    [7, 3, -1],
    [8, 3, 1],
    [9, 3, -3],
    [10, 3, 3],
    [11, 4, 0],
    [12, 4, 2],
    [13, 4, -2],
    [14, 4, 4],
    [15, 4, -4],
    [22, 6, 0],
  ])('Noll %i is n = %i, m = %i', (noll, n, m) => {
    expect(zernikeOrder(noll)).toEqual({ n, m });
  });

  test('the way there and back is the identity, up to the last index', () => {
    for (let noll = 1; noll <= 5050; noll++) expect(nollIndex(zernikeOrder(noll))).toBe(noll);
  });

  test('what is no index is refused', () => {
    expect(() => zernikeOrder(0)).toThrow('noll must be a whole number from 1 to 5050, got 0');
    expect(() => zernikeOrder(2.5)).toThrow('got 2.5');
    expect(() => nollIndex({ n: 3, m: 2 })).toThrow('n - m must be even, got n = 3, m = 2');
    expect(() => nollIndex({ n: 3, m: 5 })).toThrow('m must be a whole number from -3 to 3, got 5');
  });
});

describe('values', () => {
  const root = Math.sqrt;
  const closed: Record<number, (rho: number, theta: number) => number> = {
    1: () => 1,
    2: (r, t) => 2 * r * Math.cos(t),
    3: (r, t) => 2 * r * Math.sin(t),
    4: (r) => root(3) * (2 * r * r - 1),
    5: (r, t) => root(6) * r * r * Math.sin(2 * t),
    6: (r, t) => root(6) * r * r * Math.cos(2 * t),
    7: (r, t) => root(8) * (3 * r ** 3 - 2 * r) * Math.sin(t),
    8: (r, t) => root(8) * (3 * r ** 3 - 2 * r) * Math.cos(t),
    9: (r, t) => root(8) * r ** 3 * Math.sin(3 * t),
    10: (r, t) => root(8) * r ** 3 * Math.cos(3 * t),
    11: (r) => root(5) * (6 * r ** 4 - 6 * r * r + 1),
    12: (r, t) => root(10) * (4 * r ** 4 - 3 * r * r) * Math.cos(2 * t),
    16: (r, t) => root(12) * (10 * r ** 5 - 12 * r ** 3 + 3 * r) * Math.cos(t),
    22: (r) => root(7) * (20 * r ** 6 - 30 * r ** 4 + 12 * r * r - 1),
  };
  test.each(Object.keys(closed).map(Number))(
    'Noll %i is its closed form (Noll 1976, from memory)',
    (noll) => {
      for (const [rho, theta] of [
        [0, 0],
        [0.3, 1.1],
        [0.77, -2.5],
        [1, 0.4],
        [1.1, 3],
      ])
        expectWithin(
          zernikeValue(noll, rho * Math.cos(theta), rho * Math.sin(theta)),
          closed[noll](rho, theta),
          1e-13,
          'rounding',
        );
    },
  );

  test('the first 36 are orthonormal over the full circle', () => {
    const { x, y, weights } = pupilNodes({ obstructionRatio: 0 }, 14);
    const values = Array.from({ length: 36 }, (_, k) => x.map((u, i) => zernikeValue(k + 1, u, y[i])));
    for (let a = 0; a < 36; a++)
      for (let b = 0; b <= a; b++) {
        let mean = 0;
        for (let k = 0; k < weights.length; k++) mean += (weights[k] * values[a][k] * values[b][k]) / Math.PI;
        expectWithin(mean, a === b ? 1 : 0, 1e-12, 'exact quadrature');
      }
  });

  test('at the rim the radial part is 1 at every order, where a sum of powers would have lost all digits', () => {
    for (const n of [20, 50, 98]) {
      expectWithin(zernikeValue(nollIndex({ n, m: 0 }), 1, 0), root(n + 1), 1e-10, 'rounding over 49 steps');
      expectWithin(zernikeValue(nollIndex({ n, m: 2 }), 1, 0), root(2 * (n + 1)), 1e-10, 'rounding');
      const center = (n / 2) % 2 === 0 ? root(n + 1) : -root(n + 1);
      expectWithin(zernikeValue(nollIndex({ n, m: 0 }), 0, 0), center, 1e-10, 'R(0) = (-1)^(n/2)');
    }
  });
});

describe('slopes', () => {
  test.each([2, 3, 4, 5, 7, 8, 11, 13, 22, 37, 120])('Noll %i: they are those of the values', (noll) => {
    const sum = zernikeSum(unit(noll));
    const here = { value: 0, slopeX: 0, slopeY: 0 };
    const there = { ...here };
    const step = 1e-5;
    const value = (x: number, y: number): number => {
      sum.evaluate(x, y, there);
      return there.value;
    };
    for (const [x, y] of [
      [0, 0],
      [0.3, -0.5],
      [-0.8, 0.4],
      [0, 0.9],
    ]) {
      sum.evaluate(x, y, here);
      const why = 'third derivative of the highest order times step^2';
      expectWithin(here.slopeX, (value(x + step, y) - value(x - step, y)) / (2 * step), 2e-6, why);
      expectWithin(here.slopeY, (value(x, y + step) - value(x, y - step)) / (2 * step), 2e-6, why);
    }
  });

  test.each([4, 7, 8, 11, 14, 22, 37])('Noll %i: the Laplacian is that of the slopes', (noll) => {
    const sum = zernikeSum(unit(noll));
    const here = { value: 0, slopeX: 0, slopeY: 0, laplacian: 0 };
    const low = { ...here };
    const high = { ...here };
    const step = 1e-5;
    for (const [x, y] of [
      [0, 0],
      [0.3, -0.5],
      [-0.8, 0.4],
    ]) {
      sum.evaluateCurved(x, y, here);
      sum.evaluate(x - step, y, low);
      sum.evaluate(x + step, y, high);
      const alongX = (high.slopeX - low.slopeX) / (2 * step);
      sum.evaluate(x, y - step, low);
      sum.evaluate(x, y + step, high);
      const alongY = (high.slopeY - low.slopeY) / (2 * step);
      expectWithin(
        here.laplacian,
        alongX + alongY,
        1e-5,
        'sixth derivative times step^2 / 6, and rounding over step',
      );
    }
  });

  test('a sum is the sum of its terms', () => {
    const coefficients = Float64Array.from({ length: 60 }, (_, k) => (k === 0 ? 0 : ((7 * k) % 11) - 5));
    const sum = zernikeSum(coefficients);
    const all = { value: 0, slopeX: 0, slopeY: 0 };
    const one = { ...all };
    sum.evaluate(0.4, -0.3, all);
    const total = { value: 0, slopeX: 0, slopeY: 0 };
    for (let noll = 1; noll < 60; noll++) {
      zernikeSum(unit(noll)).evaluate(0.4, -0.3, one);
      total.value += coefficients[noll] * one.value;
      total.slopeX += coefficients[noll] * one.slopeX;
      total.slopeY += coefficients[noll] * one.slopeY;
    }
    expectWithin(all.value, total.value, 1e-11, 'rounding');
    expectWithin(all.slopeX, total.slopeX, 1e-10, 'rounding');
    expectWithin(all.slopeY, total.slopeY, 1e-10, 'rounding');
    expect(sum.order).toBe(10);
  });
});
