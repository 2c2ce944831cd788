import { randomStream } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { drawNormal, edge, layerArea, tailStart } from '../../packages/psf/src/chance/normal.ts';
import { expectWithin, expectWithinSigmas } from '../expect-within.ts';
import { chiSquare, moments, normalProbability } from './goodness-of-fit.ts';

const n = 2_000_000;
const stream = randomStream('normal', 1);
const sample = Float64Array.from({ length: n }, () => stream.normal());

/** Counts in classes of width 0.05 from -4 to 4, and those outside. */
function histogram(x: Float64Array): { counts: number[]; others: number } {
  const counts = new Array<number>(160).fill(0);
  let others = 0;
  for (let i = 0; i < x.length; i++) {
    const bin = Math.floor((x[i] + 4) * 20);
    if (bin >= 0 && bin < 160) counts[bin]++;
    else others++;
  }
  return { counts, others };
}
const probabilities = Array.from({ length: 160 }, (_, i) => normalProbability(i / 20 - 4, (i + 1) / 20 - 4));

describe('normal numbers', () => {
  test('fit the normal distribution in 161 classes', () => {
    const { counts, others } = histogram(sample);
    const fit = chiSquare(counts, probabilities, others);
    expect(fit.statistic).toBeLessThan(fit.critical);
  });

  test.each([
    ['a standard deviation of 1.008', (x: number) => 1.008 * x],
    ['a mean of 0.008', (x: number) => x + 0.008],
  ])('%s would be rejected', (_, change) => {
    const { counts, others } = histogram(sample.map(change));
    const fit = chiSquare(counts, probabilities, others);
    expect(fit.statistic).toBeGreaterThan(fit.critical);
  });

  test('have the moments 0, 1, 0, 0', () => {
    const m = moments(sample);
    expectWithinSigmas(m.mean, 0, 1 / Math.sqrt(n), 4);
    expectWithinSigmas(m.variance, 1, Math.sqrt(2 / n), 4);
    expectWithinSigmas(m.skewness, 0, Math.sqrt(6 / n), 4);
    expectWithinSigmas(m.excessKurtosis, 0, Math.sqrt(24 / n), 4);
  });

  // erfc(k / sqrt 2), the share beyond k standard deviations on both sides: any table of the normal
  // distribution.
  test.each([
    [1, 0.3173105],
    [2, 0.0455003],
    [3, 0.0026998],
    [4, 6.3342e-5],
  ])('have the right share beyond %d standard deviations', (k, share) => {
    let below = 0;
    let above = 0;
    for (let i = 0; i < n; i++) {
      if (sample[i] < -k) below++;
      if (sample[i] > k) above++;
    }
    const standardError = Math.sqrt((n * share) / 2);
    expectWithinSigmas(below, (n * share) / 2, standardError, 4);
    expectWithinSigmas(above, (n * share) / 2, standardError, 4);
  });

  test('follow the exact tail beyond the outermost layer', () => {
    // Bits that always choose the base layer and its outer end lead to the tail; all further bits are random.
    const tail = randomStream('normal', 'tail');
    const bits = () => Math.floor(tail.uniform() * 2 ** 32) | 0;
    const draws = 200_000;
    const counts = new Array<number>(20).fill(0);
    let others = 0;
    let negative = 0;
    let early = 0;
    for (let i = 0; i < draws; i++) {
      const toward = i % 2 === 0 ? 0x7fffff00 : 0x80000000 | 0;
      let call = 0;
      const x = drawNormal(() => (call++ === 0 ? toward : bits()));
      if (x < 0) negative++;
      const bin = Math.floor((Math.abs(x) - tailStart) * 20);
      if (bin < 0) early++;
      else if (bin < 20) counts[bin]++;
      else others++;
    }
    expect(early).toBe(0);
    expect(negative).toBe(draws / 2);
    const whole = normalProbability(tailStart, tailStart + 6);
    const shares = counts.map(
      (_, i) => normalProbability(tailStart + i / 20, tailStart + (i + 1) / 20) / whole,
    );
    const fit = chiSquare(counts, shares, others);
    expect(fit.statistic).toBeLessThan(fit.critical);

    // A plain exponential beyond the start, the usual shortcut, would be rejected.
    const exponential = counts.map(
      (_, i) => Math.exp((-tailStart * i) / 20) - Math.exp((-tailStart * (i + 1)) / 20),
    );
    const misfit = chiSquare(counts, exponential, others);
    expect(misfit.statistic).toBeGreaterThan(misfit.critical);
  });

  test('layers of equal area close at the top of the density', () => {
    const f = (x: number) => Math.exp(-0.5 * x * x);
    // The base: rectangle up to the tail's start, and the tail. Its area is that of each layer above it.
    const base =
      tailStart * f(tailStart) + normalProbability(tailStart, tailStart + 8) * Math.sqrt(2 * Math.PI);
    expectWithin(base / layerArea, 1, 1e-10, "error of Simpson's rule");
    expect(edge.length).toBe(257);
    for (let i = 1; i < 256; i++) {
      const above = i === 255 ? 1 : f(edge[i + 1]);
      expectWithin(
        (edge[i] * (above - f(edge[i]))) / layerArea,
        1,
        1e-11,
        'rounding of f near 1, over 254 steps',
      );
    }
  });
});
