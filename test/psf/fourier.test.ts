/** The Fourier plans against the defining sums, at sizes that use each radix of the transform. */
import { randomStream } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { planFourier2d } from '../../packages/psf/src/numerics/fourier/fourier.ts';
import { fastLength, planRadixPasses } from '../../packages/psf/src/numerics/fourier/radix-passes.ts';
import { expectWithin } from '../expect-within.ts';

const rounding = 'rounding: some 1e-16 times the square root of the number of terms';

function randomNumbers(count: number, seed: string): Float64Array {
  const random = randomStream(seed);
  return Float64Array.from({ length: count }, () => 2 * random.uniform() - 1);
}

/** The defining sum; sign -1 is forward. */
function directTransform(data: Float64Array, sign: number): Float64Array {
  const n = data.length / 2;
  const out = new Float64Array(2 * n);
  for (let k = 0; k < n; k++)
    for (let j = 0; j < n; j++) {
      const angle = (sign * 2 * Math.PI * ((j * k) % n)) / n;
      out[2 * k] += data[2 * j] * Math.cos(angle) - data[2 * j + 1] * Math.sin(angle);
      out[2 * k + 1] += data[2 * j] * Math.sin(angle) + data[2 * j + 1] * Math.cos(angle);
    }
  return out;
}

const largestDifference = (a: Float64Array, b: Float64Array): number =>
  a.reduce((most, value, k) => Math.max(most, Math.abs(value - b[k])), 0);

const energy = (data: Float64Array): number => data.reduce((sum, value) => sum + value * value, 0);

/** Along the rows, then along the columns. */
function directSquare(data: Float64Array, n: number, sign: number): Float64Array {
  const direct = data.slice();
  for (let y = 0; y < n; y++)
    direct.set(directTransform(direct.slice(2 * n * y, 2 * n * (y + 1)), sign), 2 * n * y);
  for (let x = 0; x < n; x++) {
    const column = new Float64Array(2 * n);
    for (let y = 0; y < n; y++) column.set(direct.slice(2 * (n * y + x), 2 * (n * y + x) + 2), 2 * y);
    const turned = directTransform(column, sign);
    for (let y = 0; y < n; y++) direct.set(turned.slice(2 * y, 2 * y + 2), 2 * (n * y + x));
  }
  return direct;
}

describe('lines side by side, of lengths that are 3 times a power of two', () => {
  test.each([12, 24, 48, 96, 192, 384])('%i values', (n) => {
    for (const lines of [1, 4]) {
      const data = randomNumbers(2 * n * lines, `lines of ${n}`);
      // The second half of a line may be empty, and is not read then.
      for (const half of n >= 96 ? [false, true] : [false]) {
        const result = planRadixPasses(n, lines).run(data, 0, 2 * lines, half);
        for (let b = 0; b < lines; b++) {
          const line = Float64Array.from({ length: 2 * n }, (_, at) =>
            half && at >= n ? 0 : data[2 * lines * (at >> 1) + 2 * b + (at & 1)],
          );
          const got = line.map((_, at) => result[2 * lines * (at >> 1) + 2 * b + (at & 1)]);
          expectWithin(largestDifference(got, directTransform(line, -1)), 0, 1e-12, rounding);
        }
      }
    }
  });

  test('the shortest quick length', () => {
    expect([7, 9, 11, 16, 17, 21, 33, 47, 49, 65, 81, 97].map((least) => fastLength(least, 4))).toEqual([
      8, 12, 12, 16, 24, 24, 48, 48, 64, 96, 96, 128,
    ]);
    expect([3, 90, 97, 129, 161].map((least) => fastLength(least, 32))).toEqual([4, 96, 128, 192, 192]);
  });
});

describe('in two dimensions', () => {
  test.each([4, 8, 16, 32, 64])('%i square: forward and inverse are the defining double sums', (n) => {
    const data = randomNumbers(2 * n * n, `square ${n}`);
    const plan = planFourier2d(n);
    const forward = data.slice();
    plan.forward(forward);
    expectWithin(largestDifference(forward, directSquare(data, n, -1)), 0, 1e-12, rounding);
    const inverse = data.slice();
    plan.inverse(inverse);
    const direct = directSquare(data, n, 1).map((value) => value / (n * n));
    expectWithin(largestDifference(inverse, direct), 0, 1e-14, rounding);
  });

  test('rows stay rows: a wave along x lands in row 0', () => {
    const n = 16;
    const data = new Float64Array(2 * n * n);
    for (let y = 0; y < n; y++)
      for (let x = 0; x < n; x++) data[2 * (n * y + x)] = Math.cos((2 * Math.PI * 3 * x) / n);
    planFourier2d(n).forward(data);
    expectWithin(data[2 * 3], (n * n) / 2, 1e-12, rounding);
    expectWithin(data[2 * (n - 3)], (n * n) / 2, 1e-12, rounding);
    expectWithin(energy(data), n ** 4 / 2, 1e-9, 'nothing elsewhere');
  });

  test.each([64, 128])('%i square: there and back, and the energy is kept (Parseval)', (n) => {
    const data = randomNumbers(2 * n * n, `round trip ${n}`);
    const plan = planFourier2d(n);
    const ours = data.slice();
    plan.forward(ours);
    expectWithin(energy(ours) / energy(data) / (n * n), 1, 1e-13, rounding);
    plan.inverse(ours);
    expectWithin(largestDifference(ours, data), 0, 1e-14, rounding);
  });

  test('a plan gives the same bits again', () => {
    const plan = planFourier2d(32);
    const first = randomNumbers(2 * 32 * 32, 'again');
    const second = first.slice();
    plan.forward(first);
    plan.forward(second);
    expect(second).toEqual(first);
  });
});

test('a wrong size or length is refused with what was got', () => {
  expect(() => planFourier2d(12)).toThrow('size must be a power of two, got 12');
  expect(() => planFourier2d(2)).toThrow('size must be a whole number from 4 to 8192, got 2');
  expect(() => planFourier2d(16384)).toThrow('size must be a whole number from 4 to 8192, got 16384');
  expect(() => planFourier2d(8).inverse(new Float64Array(8))).toThrow('data must have 128 numbers, got 8');
});
