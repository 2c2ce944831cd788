/** The small numerical tools of the package, against independent ways to the same numbers. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { createPixelProfile, fillProfile } from '../../packages/centroid/src/gaussian/pixel-gaussian.ts';
import { noPixelMoments, thresholdPixel } from '../../packages/centroid/src/moments/threshold-noise.ts';
import {
  type Problem,
  prepareLevenbergMarquardt,
} from '../../packages/psf/src/numerics/levenberg-marquardt.ts';
import { normalInto } from '../../packages/psf/src/numerics/normal-distribution.ts';
import { medianOf, selectKth } from '../../packages/psf/src/numerics/quantile.ts';
import { invertSymmetric, sandwich } from '../../packages/psf/src/numerics/small-solve.ts';
import { boxSum, summedArea } from '../../packages/psf/src/numerics/summed-area.ts';
import { expectWithin } from '../expect-within.ts';

const density = (u: number) => Math.exp((-u * u) / 2) / Math.sqrt(2 * Math.PI);

/** Integral by Simpson's rule on 4000 steps. */
function integrate(f: (x: number) => number, from: number, to: number): number {
  const steps = 4000;
  const h = (to - from) / steps;
  let sum = f(from) + f(to);
  for (let i = 1; i < steps; i++) sum += (i % 2 === 1 ? 4 : 2) * f(from + i * h);
  return (sum * h) / 3;
}

describe('normal distribution', () => {
  const out = new Float64Array(2);

  test('integral and density at any place', () => {
    for (let u = -9.5; u <= 9.5; u += 0.0617) {
      normalInto(out, u);
      expectWithin(out[0], integrate(density, 0, u), 6e-15, 'Simpson: rounding of 4000 terms');
      expectWithin(out[1], density(u), 1e-15, 'the exponential');
    }
  });

  test('ends at one half, for infinities too', () => {
    for (const u of [9, 40, Infinity]) {
      normalInto(out, u);
      expect([out[0], out[1]]).toEqual([0.5, 0]);
      normalInto(out, -u);
      expect([out[0], out[1]]).toEqual([-0.5, 0]);
    }
  });
});

test('the profile of a Gaussian on pixels: shares, first and second derivatives', () => {
  const n = 9;
  const fill = (position: number, sigma: number) => {
    const profile = createPixelProfile(n);
    fillProfile(profile, n, -3, position, sigma);
    return profile;
  };
  const h = 1e-4;
  for (const [x, s] of [
    [0.3, 1.2],
    [1.9, 0.6],
    [-1.2, 3],
  ]) {
    const at = fill(x, s);
    const [left, right, narrow, wide] = [fill(x - h, s), fill(x + h, s), fill(x, s - h), fill(x, s + h)];
    for (let i = 0; i < n; i++) {
      const share = integrate((c) => density((c - x) / s) / s, i - 3.5, i - 2.5);
      expectWithin(at.share[i], share, 1e-14, 'Simpson');
      const why = 'central difference, error h^2 times a third derivative';
      expectWithin(at.byPosition[i], (right.share[i] - left.share[i]) / (2 * h), 1e-7, why);
      expectWithin(at.bySigma[i], (wide.share[i] - narrow.share[i]) / (2 * h), 1e-7, why);
      expectWithin(at.bySigma[i] / s, (right.byPosition[i] - left.byPosition[i]) / (2 * h), 1e-6, why);
      expectWithin(at.byPositionSigma[i], (right.bySigma[i] - left.bySigma[i]) / (2 * h), 1e-6, why);
      expectWithin(at.bySigma2[i], (wide.bySigma[i] - narrow.bySigma[i]) / (2 * h), 1e-6, why);
    }
  }
});

test('a pixel behind a threshold: moments by integration over an Edgeworth density', () => {
  const out = noPixelMoments();
  const before = noPixelMoments();
  const after = noPixelMoments();
  let compared = 0;
  for (const form of ['subtract', 'keep'] as const)
    for (const skewness of [0, 0.2])
      for (const mean of [-40, 0, 12, 29, 31, 90])
        for (const sigma of [3, 10]) {
          const t = 30;
          thresholdPixel(out, mean, sigma, skewness, t, form);
          if (skewness > 0 && Math.abs(mean - t) > 4 * sigma) continue; // Edgeworth's tails go below 0, ours do not
          const weight = (v: number) => (v > t ? v - (form === 'keep' ? 0 : t) : 0);
          const from = Math.max(t, mean - 9 * sigma);
          const to = Math.max(from, mean + 9 * sigma);
          const moment = (power: number) =>
            integrate(
              (v) => {
                const z = (v - mean) / sigma;
                const skewed = 1 + (skewness / 6) * (z * z * z - 3 * z);
                return (weight(v + 1e-12) ** power * density(z) * skewed) / sigma;
              },
              from,
              to,
            );
          const first = moment(1);
          const second = moment(2);
          const third = moment(3) - 3 * first * second + 2 * first ** 3;
          const why = 'Simpson, and 8 sigmas for surely';
          expectWithin(out.mean, first, 1e-6, why);
          expectWithin(out.variance, second - first * first, 1e-4, why);
          expectWithin(out.third, third, 1e-2, why);
          thresholdPixel(before, mean - 1e-3, sigma, skewness, t, form);
          thresholdPixel(after, mean + 1e-3, sigma, skewness, t, form);
          // By design the slope leaves out what the skewness does at the edge of 'keep': t (g / 6) a (a^2 -
          // 3) p.
          if (skewness === 0)
            expectWithin(out.slope, (after.mean - before.mean) / 2e-3, 1e-5, 'central difference');
          compared++;
        }
  expect(compared).toBeGreaterThan(30);
});

test('selectKth and medianOf agree with sorting', () => {
  fc.assert(
    fc.property(
      fc.array(fc.double({ noNaN: true }), { minLength: 1, maxLength: 60 }),
      fc.nat(),
      (values, seed) => {
        const sorted = Float64Array.from(values).sort();
        const n = values.length;
        const k = seed % n;
        // -0 and 0 are equal
        expect(selectKth(Float64Array.from(values), n, k) === sorted[k]).toBe(true);
        const median = n % 2 === 1 ? sorted[n >> 1] : (sorted[n / 2 - 1] + sorted[n / 2]) / 2;
        expect(medianOf(Float64Array.from(values), n) === median || Number.isNaN(median)).toBe(true);
      },
    ),
    { seed: 4, numRuns: 500 },
  );
});

test('the summed-area table gives every box', () => {
  const [width, height] = [7, 5];
  const values = Float64Array.from({ length: width * height }, (_, k) => (k * 7919) % 31);
  const table = summedArea(values, width, height);
  for (let t = 0; t < height; t++)
    for (let l = 0; l < width; l++)
      for (let b = t; b <= height; b++)
        for (let r = l; r <= width; r++) {
          let sum = 0;
          for (let y = t; y < b; y++) for (let x = l; x < r; x++) sum += values[y * width + x];
          expect(boxSum(table, width + 1, l, t, r, b)).toBe(sum);
        }
});

describe('small systems', () => {
  // Unknowns as different as pixels and electrons
  const a = Float64Array.from([4e8, 3e3, -20, 3e3, 5, 1e-3, -20, 1e-3, 2e-5]);

  test('the inverse times the matrix is one', () => {
    const inverse = invertSymmetric(a, 3);
    if (inverse === undefined) throw new Error('singular');
    for (let i = 0; i < 3; i++)
      for (let j = 0; j < 3; j++) {
        let sum = 0;
        for (let k = 0; k < 3; k++) sum += a[i * 3 + k] * inverse[k * 3 + j];
        const scale = Math.sqrt(a[i * 4] / a[j * 4]);
        expectWithin(sum / scale, i === j ? 1 : 0, 1e-12, 'in the scale of the unknowns');
      }
    const same = sandwich(inverse, a, 3);
    for (let k = 0; k < 9; k++) expectWithin(same[k] / inverse[k], 1, 1e-10, 'A^-1 A A^-1 = A^-1');
  });

  test('what is singular, indefinite or not finite has none', () => {
    expect(invertSymmetric(Float64Array.from([1, 1, 1, 1]), 2)).toBeUndefined();
    expect(invertSymmetric(Float64Array.from([1, 2, 2, 1]), 2)).toBeUndefined();
    expect(invertSymmetric(Float64Array.from([0, 0, 0, 1]), 2)).toBeUndefined();
    expect(invertSymmetric(Float64Array.from([Number.NaN, 0, 0, 1]), 2)).toBeUndefined();
    expect(invertSymmetric(Float64Array.from([Infinity, 0, 0, 1]), 2)).toBeUndefined();
  });
});

describe('Levenberg-Marquardt', () => {
  /** Rosenbrock's valley, (1 - x)^2 + 100 (y - x^2)^2 over 2, as two residuals. */
  const valley = (limits: { lower?: number[]; upper?: number[] } = {}): Problem => ({
    n: 2,
    lower: Float64Array.from(limits.lower ?? [-Infinity, -Infinity]),
    upper: Float64Array.from(limits.upper ?? [Infinity, Infinity]),
    scale: (out) => out.fill(1),
    evaluate([x, y], gradient, hessian, exact) {
      const p = 1 - x;
      const q = 10 * (y - x * x);
      gradient[0] = -p - 20 * x * q;
      gradient[1] = 10 * q;
      hessian[0] = 1 + 400 * x * x - (exact ? 20 * q : 0);
      hessian[1] = -200 * x;
      hessian[2] = -200 * x;
      hessian[3] = 100;
      return (p * p + q * q) / 2;
    },
  });
  const minimize = prepareLevenbergMarquardt(2);
  const limits = { maxIterations: 200, tolerance: 1e-8 };

  test('follows the valley from its usual start to (1, 1)', () => {
    const at = Float64Array.from([-1.2, 1]);
    const end = minimize(at, valley(), limits);
    expect(end.status).toBe('converged');
    expectWithin(at[0], 1, 1e-8, 'the tolerance');
    expectWithin(at[1], 1, 1e-8, 'the tolerance');
    expect(end.iterations).toBeLessThan(60);
  });

  test('stops at a limit, and slides along it', () => {
    const at = Float64Array.from([-1.2, 1]);
    const end = minimize(at, valley({ upper: [0.5, Infinity] }), limits);
    expect(end.status).toBe('converged');
    expect(at[0]).toBe(0.5);
    expectWithin(at[1], 0.25, 1e-7, 'the floor of the valley at x = 1/2');
  });

  test('tells when the iterations run out', () => {
    const at = Float64Array.from([-1.2, 1]);
    expect(minimize(at, valley(), { ...limits, maxIterations: 4 }).status).toBe('iteration-limit');
  });

  test('tells when no step lowers the objective', () => {
    const wrong: Problem = {
      ...valley(),
      n: 1,
      evaluate([x], gradient, hessian) {
        gradient[0] = 1; // points the wrong way
        hessian[0] = 1;
        return -x;
      },
    };
    expect(minimize(Float64Array.from([0, 0]), wrong, limits).status).toBe('stalled');
  });
});
