import { expect, test } from 'vitest';
import { invertSymmetric, sandwich, solveSymmetric } from '../../../packages/psf/src/numerics/small-solve.ts';
import { smoothedProducts } from '../../../packages/sim/src/frame/rings/ring-error.ts';
import { prepareRingModel, ring, ringUnknowns } from '../../../packages/sim/src/frame/rings/ring-model.ts';
import { expectWithin } from '../../expect-within.ts';

function unknowns(slopeX: number, slopeY: number): Float64Array {
  const u = new Float64Array(ringUnknowns);
  u[ring.x] = 15.3;
  u[ring.y] = 18.1;
  u[ring.radius] = 9.2;
  u[ring.hole] = 0.2;
  u[ring.blur] = 2.7;
  u[ring.level] = 100;
  u[ring.background] = 12;
  u[ring.holeX] = 0.6;
  u[ring.holeY] = -0.4;
  u[ring.slopeX] = slopeX;
  u[ring.slopeY] = slopeY;
  return u;
}

test('the slopes of the picture are those of its values', () => {
  const model = prepareRingModel(33, 37, 0);
  const u = unknowns(0, 0);
  const values = new Float64Array(33 * 37);
  const slopes = Array.from({ length: ringUnknowns }, () => new Float64Array(33 * 37));
  model.slopesInto(values, slopes, u);
  const above = new Float64Array(values.length);
  const below = new Float64Array(values.length);
  for (const [name, k] of Object.entries(ring)) {
    const step = name === 'hole' ? 1e-3 : name === 'level' ? 1 : 0.01;
    const moved = u.slice();
    moved[k] = u[k]! + step;
    model.valuesInto(above, moved);
    moved[k] = u[k]! - step;
    model.valuesInto(below, moved);
    const largest = slopes[k]!.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
    for (let i = 0; i < values.length; i++) {
      const difference = (above[i]! - below[i]!) / (2 * step);
      // two steps of central differences: their errors of second order differ
      expectWithin(slopes[k]![i]!, difference, 1e-3 * largest, `slope by ${name} at pixel ${i}`);
    }
  }
});

test('the light rises to the side that the slope names, and sums to the same', () => {
  const model = prepareRingModel(33, 37, 0);
  const even = new Float64Array(33 * 37);
  const tilted = new Float64Array(33 * 37);
  const centered = unknowns(0, 0);
  centered[ring.holeX] = 0;
  centered[ring.holeY] = 0;
  model.valuesInto(even, centered);
  centered[ring.slopeX] = 0.3;
  model.valuesInto(tilted, centered);
  const right = 18 * 33 + 22;
  const left = 18 * 33 + 8;
  expect(tilted[right]!).toBeGreaterThan(even[right]!);
  expect(tilted[left]!).toBeLessThan(even[left]!);
  const sum = (values: Float64Array) => values.reduce((total, value) => total + value, 0);
  expectWithin(sum(tilted), sum(even), 1e-6 * sum(even), 'what one side gains the other loses');
});

test('smoothed products are the double sum over pixels', () => {
  const [width, height, length] = [7, 5, 1.2];
  const maps = [0, 1].map((n) => Float64Array.from({ length: 35 }, (_, k) => Math.sin(1 + k * (n + 1.3))));
  const products = smoothedProducts(maps, width, height, length);
  for (const [a, b] of [
    [0, 0],
    [0, 1],
    [1, 1],
  ] as const) {
    let sum = 0;
    for (let i = 0; i < 35; i++)
      for (let j = 0; j < 35; j++) {
        const dx = (i % width) - (j % width);
        const dy = Math.floor(i / width) - Math.floor(j / width);
        sum += maps[a]![i]! * maps[b]![j]! * Math.exp(-(dx * dx + dy * dy) / (2 * length * length));
      }
    // the kernel ends at 4 L + 1 px, where it is 1e-4
    expectWithin(products[2 * a + b]!, sum, 1e-3, 'the end of the kernel');
    expect(products[2 * a + b]).toBe(products[2 * b + a]);
  }
});

test('small symmetric systems', () => {
  // scales of 1 and 1e8, as pixels and electrons have
  const a = Float64Array.of(4, 2e4, 1, 2e4, 9e8, 3e3, 1, 3e3, 5);
  const inverse = invertSymmetric(a, 3)!;
  for (let i = 0; i < 3; i++)
    for (let j = 0; j < 3; j++) {
      let sum = 0;
      for (let k = 0; k < 3; k++) sum += a[3 * i + k]! * inverse[3 * k + j]!;
      expectWithin(sum, i === j ? 1 : 0, 1e-8, 'rounding in the scales given');
    }
  const x = solveSymmetric(a, Float64Array.of(1, 2, 3))!;
  for (let i = 0; i < 3; i++) {
    let sum = 0;
    for (let k = 0; k < 3; k++) sum += a[3 * i + k]! * x[k]!;
    expectWithin(sum, i + 1, 1e-9, 'rounding');
  }
  expect(Array.from(sandwich(Float64Array.of(2, 0, 0, 3), Float64Array.of(1, 4, 4, 5), 2))).toEqual([
    4, 24, 24, 45,
  ]);
  expect(invertSymmetric(Float64Array.of(1, 2, 2, 1), 2)).toBeUndefined();
  expect(solveSymmetric(Float64Array.of(0, 0, 0, 1), Float64Array.of(1, 1))).toBeUndefined();
});
