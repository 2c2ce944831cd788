import { randomStream } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { logPoisson, rejectionHat } from '../../packages/psf/src/chance/poisson.ts';
import { expectWithin, expectWithinSigmas } from '../expect-within.ts';
import { chiSquare, kolmogorovSmirnov, moments, poissonProbabilities } from './goodness-of-fit.ts';

function draw(n: number, mean: number): Float64Array {
  const stream = randomStream('poisson', mean);
  return Float64Array.from({ length: n }, () => stream.poisson(mean));
}

/**
 * Chi-square of the sample against the exact probabilities at a mean; above 20 counts, in classes of 1/4
 * sigma.
 */
function fitAt(sample: Float64Array, mean: number) {
  const { first, probabilities } = poissonProbabilities(mean);
  const width = Math.max(1, Math.round(Math.sqrt(mean) / 4));
  const classes = Math.ceil(probabilities.length / width);
  const counts = new Array<number>(classes).fill(0);
  const shares = new Array<number>(classes).fill(0);
  let others = 0;
  probabilities.forEach((p, i) => {
    shares[Math.floor(i / width)] += p;
  });
  for (const k of sample) {
    if (k >= first && k < first + probabilities.length) counts[Math.floor((k - first) / width)]++;
    else others++;
  }
  return chiSquare(counts, shares, others);
}

describe('Poisson counts', () => {
  const n = 300_000;

  test.each([0.001, 0.1, 1, 5, 9.9, 10, 12, 17.4, 30, 100, 1e3])(
    'fit the exact distribution at mean %d',
    (mean) => {
      const sample = draw(n, mean);
      const fit = fitAt(sample, mean);
      expect(fit.statistic).toBeLessThan(fit.critical);

      // The test has the power to fail: a mean wrong by 10 standard errors (1.8 % at 1, 0.06 % at 1000) is
      // rejected.
      const wrong = fitAt(sample, mean + 10 * Math.sqrt(mean / n));
      expect(wrong.statistic).toBeGreaterThan(wrong.critical);
    },
  );

  test.each([12, 100, 1e4, 1e6])('have the four moments of mean %d', (mean) => {
    const m = moments(draw(n, mean));
    expectWithinSigmas(m.mean, mean, Math.sqrt(mean / n), 4);
    // Standard errors of a nearly normal sample, widened by the excess kurtosis 1 / mean of the distribution.
    const wider = Math.sqrt(1 + 10 / mean);
    expectWithinSigmas(m.variance, mean, mean * Math.sqrt((2 + 1 / mean) / n), 4);
    expectWithinSigmas(m.skewness, 1 / Math.sqrt(mean), wider * Math.sqrt(6 / n), 4);
    expectWithinSigmas(m.excessKurtosis, 1 / mean, wider * Math.sqrt(24 / n), 4);
  });

  test.each([1e4, 1e6])('follow the exact distribution function at mean %d', (mean) => {
    const { first, probabilities } = poissonProbabilities(mean);
    const upTo = new Float64Array(probabilities.length);
    let sum = 0;
    probabilities.forEach((p, i) => {
      sum += p;
      upTo[i] = sum;
    });
    const cdf = (k: number) => (k < first ? 0 : upTo[Math.min(k - first, upTo.length - 1)]);
    const sample = draw(n, mean);
    const fit = kolmogorovSmirnov(sample, cdf);
    expect(fit.statistic).toBeLessThan(fit.critical);

    // A sample shifted by 1 % of a standard deviation is rejected.
    const shift = Math.round(0.01 * Math.sqrt(mean));
    const misfit = kolmogorovSmirnov(
      sample.map((k) => k + shift),
      cdf,
    );
    expect(misfit.statistic).toBeGreaterThan(misfit.critical);
  });

  test('are 0 at mean 0, and whole numbers at the largest mean', () => {
    const stream = randomStream('ends');
    for (let i = 0; i < 100; i++) expect(stream.poisson(0)).toBe(0);
    const k = stream.poisson(1e12);
    expect(Number.isInteger(k)).toBe(true);
    expectWithin(k, 1e12, 6e6, 'six standard deviations');
  });

  test('take one uniform number below a mean of 10, so that close means give close counts', () => {
    const a = randomStream('paired');
    const b = randomStream('paired');
    let differing = 0;
    for (let i = 0; i < 10_000; i++) if (a.poisson(3) !== b.poisson(3.001)) differing++;
    // The chance that one uniform number falls between the two distribution functions is about the difference
    // 0.001.
    expect(differing).toBeLessThan(30);
  });

  test.each([-1, Number.NaN, Infinity, 1.1e12])('of mean %d are refused', (mean) => {
    expect(() => randomStream(1).poisson(mean)).toThrow(RangeError);
    expect(() => randomStream(1).poisson(mean)).toThrow(/mean must be in \[0, 1000000000000\], got/);
  });
});

describe('the rejection method from mean 10 on', () => {
  /**
   * Ratio of the probability to the hat: a count is accepted when v is at most this, so it must not pass 1.
   */
  const acceptance = (u: number, mean: number) => {
    const { a, b, inverseAlpha } = rejectionHat(mean);
    const room = 0.5 - Math.abs(u);
    const k = Math.floor(((2 * a) / room + b) * u + mean + 0.43);
    return k < 0 ? 0 : (Math.exp(logPoisson(k, mean)) * (a / (room * room) + b)) / inverseAlpha;
  };
  const means = [10, 10.797, 11.612, 12.439, 14.05, 15.702, 17.384, 20.722, 25.032, 29.656, 30.186];
  means.push(40.702, 50.55, 73.231, 100.753, 152, 305, 733, 1020, 5407, 1e5, 1e6, 1e9);

  test.each(means)('has a hat above and a squeeze below the probability at mean %d', (mean) => {
    const { squeeze } = rejectionHat(mean);
    let highest = 0;
    let lowestUnderSqueeze = 1;
    let highestUnseen = -1; // of probability over room, where v > room is refused without looking
    for (let i = 1; i < 20_000; i++) {
      const u = i / 20_000 - 0.5;
      const room = 0.5 - Math.abs(u);
      const ratio = acceptance(u, mean);
      if (ratio > highest) highest = ratio;
      if (room >= 0.07 && ratio < lowestUnderSqueeze) lowestUnderSqueeze = ratio;
      if (room < 0.013 && ratio - room > highestUnseen) highestUnseen = ratio - room;
    }
    expect(highest).toBeLessThan(1);
    expect(lowestUnderSqueeze).toBeGreaterThan(squeeze);
    expect(highestUnseen).toBeLessThan(0);
  });
});

describe('logPoisson', () => {
  test('agrees with the exact factorial within 1e-12 of the logarithm', () => {
    let factorial = 1n;
    for (let k = 0; k <= 100; k++) {
      if (k > 0) factorial *= BigInt(k);
      const exact = k * Math.log(40) - 40 - Math.log(Number(factorial));
      expectWithin(
        logPoisson(k, 40),
        exact,
        1e-12,
        'series error < 1e-12 at k = 10; rounding of terms up to 400',
      );
    }
  });

  test.each([30, 1e3, 1e6])('sums to 1 over all counts at mean %d', (mean) => {
    const reach = Math.ceil(12 * Math.sqrt(mean));
    let sum = 0;
    for (let k = Math.max(0, mean - reach); k <= mean + reach; k++) sum += Math.exp(logPoisson(k, mean));
    expectWithin(sum, 1, 1e-9, 'relative rounding of mean x 1e-16 in the exponent, summed');
  });

  test.each([1e6, 1e9])('has the ratio mean / k of neighboring counts at mean %d', (mean) => {
    for (const k of [mean - 3 * Math.sqrt(mean), mean, mean + 5 * Math.sqrt(mean)].map(Math.round)) {
      const step = logPoisson(k, mean) - logPoisson(k - 1, mean);
      expectWithin(step, Math.log(mean / k), 4e-16 * mean, 'rounding of k ln(mean / k)');
    }
  });
});
