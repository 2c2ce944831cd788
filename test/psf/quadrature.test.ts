import { describe, expect, test } from 'vitest';
import { gaussLegendre } from '../../packages/psf/src/numerics/quadrature.ts';
import { expectWithin } from '../expect-within.ts';

describe('gaussLegendre(n)', () => {
  // Abramowitz & Stegun, Handbook of Mathematical Functions, table 25.4: n, largest node, its weight.
  test.each([
    [2, 0.577350269189626, 1],
    [3, 0.774596669241483, 0.555555555555556],
    [4, 0.861136311594053, 0.347854845137454],
    [5, 0.906179845938664, 0.236926885056189],
    [10, 0.973906528517172, 0.066671344308688],
    [20, 0.993128599185095, 0.017614007139152],
    [96, 0.999689503883231, 0.000796792065552],
  ])('n = %i ends at the tabulated node and weight', (n, node, weight) => {
    const { nodes, weights } = gaussLegendre(n);
    expectWithin(nodes[n - 1], node, 6e-16, 'half of the last printed digit');
    expectWithin(weights[n - 1], weight, 1.5e-15, 'the last printed digit');
  });

  test.each([1, 2, 3, 7, 16, 33, 128])(
    'n = %i integrates t^m exactly up to m = 2n - 1, and no further',
    (n) => {
      const { nodes, weights } = gaussLegendre(n);
      const power = (m: number): number => nodes.reduce((sum, node, k) => sum + weights[k] * node ** m, 0);
      for (let m = 0; m < 2 * n; m++)
        expectWithin(power(m), m % 2 === 0 ? 2 / (m + 1) : 0, 1e-14, 'rounding');
      // The error at 2n is positive: the monic Legendre polynomial squared, integrated.
      if (n <= 16) expect(2 / (2 * n + 1) - power(2 * n)).toBeGreaterThan(1e-11);
    },
  );

  test('nodes ascend and are symmetric about 0, to the bit', () => {
    for (const n of [4, 9, 500]) {
      const { nodes, weights } = gaussLegendre(n);
      for (let k = 0; k < n; k++) {
        if (k > 0) expect(nodes[k]).toBeGreaterThan(nodes[k - 1]);
        expect(nodes[k] + nodes[n - 1 - k]).toBe(0);
        expect(weights[k]).toBe(weights[n - 1 - k]);
      }
    }
  });

  test('refuses what is not a number of points', () => {
    for (const n of [0, -1, 2.5, Number.NaN, 5000])
      expect(() => gaussLegendre(n)).toThrow(/^n must be a whole number from 1 to 4096, got/);
  });
});
