/**
 * Tests of samples against distributions. Each rejects a true hypothesis once in 10,000 seeds; seeds are
 * fixed.
 */
import chiSquareQuantile from '@stdlib/stats-base-dists-chisquare-quantile';

const falseAlarm = 1e-4;

export interface Fit {
  readonly statistic: number;
  /** The sample fits when the statistic is at most this. */
  readonly critical: number;
}

/**
 * Pearson's chi-square of counts against the probability of each class. Neighboring classes are joined until
 * each expects at least 10; what the listed probabilities lack to 1 is one class more, with `others` counts.
 */
export function chiSquare(counts: readonly number[], probabilities: readonly number[], others = 0): Fit {
  const total = counts.reduce((sum, c) => sum + c, others);
  const missing = Math.max(0, 1 - probabilities.reduce((sum, p) => sum + p, 0));
  const observed = [...counts, others];
  const expected = [...probabilities, missing].map((p) => p * total);
  let statistic = 0;
  let classes = 0;
  let o = 0;
  let e = 0;
  let rest = expected.reduce((sum, x) => sum + x, 0);
  for (let i = 0; i < observed.length; i++) {
    o += observed[i];
    e += expected[i];
    rest -= expected[i];
    // A last class too small to stand alone is taken into the one before it.
    if ((e < 10 || rest < 10) && i < observed.length - 1) continue;
    statistic += (o - e) ** 2 / e;
    classes++;
    o = 0;
    e = 0;
  }
  return { statistic, critical: chiSquareQuantile(1 - falseAlarm, classes - 1) };
}

/**
 * Largest distance of the sample's distribution from `cdf` (Kolmogorov-Smirnov); its critical value for many
 * draws.
 */
export function kolmogorovSmirnov(sample: Float64Array, cdf: (x: number) => number): Fit {
  const sorted = sample.slice().sort();
  const n = sorted.length;
  let statistic = 0;
  for (let i = 0; i < n; i++) {
    if (i + 1 < n && sorted[i + 1] === sorted[i]) continue; // compare after the last of equal values
    statistic = Math.max(statistic, Math.abs(cdf(sorted[i]) - (i + 1) / n));
  }
  return { statistic, critical: Math.sqrt(-Math.log(falseAlarm / 2) / 2 / n) };
}

export interface Moments {
  readonly mean: number;
  readonly variance: number;
  readonly skewness: number;
  readonly excessKurtosis: number;
}

export function moments(sample: Float64Array): Moments {
  const n = sample.length;
  let sum = 0;
  for (let i = 0; i < n; i++) sum += sample[i];
  const mean = sum / n;
  let m2 = 0;
  let m3 = 0;
  let m4 = 0;
  for (let i = 0; i < n; i++) {
    const d = sample[i] - mean;
    m2 += d * d;
    m3 += d * d * d;
    m4 += d * d * d * d;
  }
  const variance = m2 / n;
  return { mean, variance, skewness: m3 / n / variance ** 1.5, excessKurtosis: m4 / n / variance ** 2 - 3 };
}

/** Correlation of two equally long samples. */
export function correlation(a: Float64Array, b: Float64Array): number {
  const meanA = moments(a).mean;
  const meanB = moments(b).mean;
  let ab = 0;
  let aa = 0;
  let bb = 0;
  for (let i = 0; i < a.length; i++) {
    ab += (a[i] - meanA) * (b[i] - meanB);
    aa += (a[i] - meanA) ** 2;
    bb += (b[i] - meanB) ** 2;
  }
  return ab / Math.sqrt(aa * bb);
}

/**
 * Poisson probabilities of first, first + 1, ... by the recursion P(k) = P(k - 1) mean / k from the mode,
 * scaled to 1.
 */
export function poissonProbabilities(mean: number): { first: number; probabilities: number[] } {
  const mode = Math.floor(mean);
  const reach = Math.ceil(12 * Math.sqrt(mean) + 30);
  const first = Math.max(0, mode - reach);
  const p = new Array<number>(mode + reach - first + 1).fill(0);
  p[mode - first] = 1;
  for (let k = mode + 1; k <= mode + reach; k++) p[k - first] = (p[k - 1 - first] * mean) / k;
  for (let k = mode - 1; k >= first; k--) p[k - first] = (p[k + 1 - first] * (k + 1)) / mean;
  const sum = p.reduce((s, x) => s + x, 0);
  return { first, probabilities: p.map((x) => x / sum) };
}

/** Integral of the standard normal density over [a, b], by Simpson's rule on steps of at most 1/200. */
export function normalProbability(a: number, b: number): number {
  const steps = 2 * Math.max(1, Math.ceil((b - a) * 100));
  const h = (b - a) / steps;
  let sum = 0;
  for (let i = 0; i <= steps; i++) {
    const x = a + i * h;
    sum += (i === 0 || i === steps ? 1 : i % 2 === 1 ? 4 : 2) * Math.exp(-0.5 * x * x);
  }
  return (sum * h) / 3 / Math.sqrt(2 * Math.PI);
}
