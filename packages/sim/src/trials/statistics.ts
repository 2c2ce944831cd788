/** Numbers with their uncertainty: means, root mean squares and fractions from trials. */
import type { Estimate } from '@holdfast/psf/numerics';

export type { Estimate };

/** A number with its 95 % confidence interval. */
export interface Interval {
  /** The number itself. */
  readonly value: number;
  /** Lower end of the 95 % interval. */
  readonly low: number;
  /** Its upper end. */
  readonly high: number;
}

/** 97.5 % point of the standard normal distribution: 95 % lie within +- this many sigmas. */
export const sigmas95 = 1.959963984540054;

/**
 * Mean of the first `count` values and its standard error (0 for one value: it says nothing of its own
 * error).
 */
export function meanOf(values: Float64Array, count = values.length): Estimate {
  const { mean, variance } = momentsOf(values, count);
  return { value: mean, standardError: Math.sqrt(variance / count) };
}

/**
 * Standard deviation of the first `count` values with its standard error, from the values' own fourth moment,
 * so that heavy tails widen it: se(s) = sqrt((m4 - s^4) / n) / (2 s).
 */
export function scatterOf(values: Float64Array, count = values.length): Estimate {
  const { mean, variance } = momentsOf(values, count);
  let fourth = 0;
  for (let i = 0; i < count; i++) {
    const square = (values[i] - mean) ** 2;
    fourth += square * square;
  }
  const value = Math.sqrt(variance);
  if (value === 0) return { value, standardError: 0 };
  const spread = Math.max(0, fourth / count - variance * variance);
  return { value, standardError: Math.sqrt(spread / count) / (2 * value) };
}

/**
 * Root mean square per axis of position errors: rms = sqrt(mean((dx^2 + dy^2) / 2)), bias and scatter
 * together, with its standard error from the scatter of the squares.
 */
export function rmsPerAxis(errorX: Float64Array, errorY: Float64Array, count = errorX.length): Estimate {
  let sum = 0;
  for (let i = 0; i < count; i++) sum += 0.5 * (errorX[i] * errorX[i] + errorY[i] * errorY[i]);
  const mean = sum / count;
  let squares = 0;
  for (let i = 0; i < count; i++) {
    const off = 0.5 * (errorX[i] * errorX[i] + errorY[i] * errorY[i]) - mean;
    squares += off * off;
  }
  const value = Math.sqrt(mean);
  if (value === 0) return { value, standardError: 0 };
  return { value, standardError: Math.sqrt(squares / Math.max(1, count - 1) / count) / (2 * value) };
}

/** Root of a mean square; 0 where chance took all of it off. */
export function rootOf({ value, standardError }: Estimate): Estimate {
  const root = Math.sqrt(Math.max(0, value));
  return { value: root, standardError: root > 0 ? standardError / (2 * root) : 0 };
}

/**
 * A fraction with its 95 % interval: Wilson's score interval, which stays inside 0..1 and holds its level for
 * small counts (Wilson 1927, J. Am. Stat. Assoc. 22, 209; from memory).
 */
export function fractionOf(hits: number, count: number): Interval {
  if (!(count > 0) || hits < 0 || hits > count)
    throw new RangeError(`hits must be in [0, count], got ${hits} of ${count}`);
  const p = hits / count;
  const z2 = sigmas95 * sigmas95;
  const middle = (p + z2 / (2 * count)) / (1 + z2 / count);
  const half = (sigmas95 / (1 + z2 / count)) * Math.sqrt((p * (1 - p)) / count + z2 / (4 * count * count));
  return { value: p, low: hits === 0 ? 0 : middle - half, high: hits === count ? 1 : middle + half };
}

/** Slope of a straight line through the origin. */
export class Slope {
  readonly #points: { readonly x: number; readonly y: number; readonly trial: number }[] = [];
  #xx = 0;
  #xy = 0;

  /** Points with an x other than 0: the others tell nothing. */
  get count(): number {
    return this.#points.length;
  }

  /** @param trial  where in `terms` the point stands */
  add(x: number, y: number, trial = 0): void {
    if (x === 0) return;
    this.#points.push({ x, y, trial });
    this.#xx += x * x;
    this.#xy += x * y;
  }

  /**
   * Least squares; its error from the scatter about the line, each point by its own, as without each in turn
   * (White 1980; MacKinnon & White 1985, HC3, from memory).
   *
   * @param terms  takes what each point adds to the error: their squares add up to that of the standard error
   */
  estimate(terms?: Float64Array): Estimate {
    const value = this.#xy / this.#xx;
    let squares = 0;
    for (const { x, y, trial } of this.#points) {
      const term = (x * (y - value * x)) / Math.max(0.1 * this.#xx, this.#xx - x * x);
      squares += term * term;
      if (terms !== undefined) terms[trial] += term;
    }
    return { value, standardError: Math.sqrt(squares) };
  }
}

/** Root of the mean square of both axes. */
export function bothAxes(x: Estimate, y: Estimate): Estimate {
  const value = Math.sqrt((x.value ** 2 + y.value ** 2) / 2);
  const spread = Math.sqrt((x.value * x.standardError) ** 2 + (y.value * y.standardError) ** 2);
  return { value, standardError: value > 0 ? spread / 2 / value : 0 };
}

/** One estimate over another that does not depend on it. */
export function ratioOf(above: Estimate, below: Estimate): Estimate {
  const value = above.value / below.value;
  const spread = Math.sqrt(above.standardError ** 2 + (value * below.standardError) ** 2);
  return { value, standardError: spread / Math.abs(below.value) };
}

/** The same estimate in another unit. */
export function scaled(estimate: Estimate, factor: number): Estimate {
  return { value: estimate.value * factor, standardError: estimate.standardError * Math.abs(factor) };
}

/** 95 % interval of an estimate whose error is normal. */
export function intervalOf({ value, standardError }: Estimate): Interval {
  return { value, low: value - sigmas95 * standardError, high: value + sigmas95 * standardError };
}

function momentsOf(values: Float64Array, count: number): { mean: number; variance: number } {
  if (!(count >= 1 && count <= values.length))
    throw new RangeError(`count must be from 1 to ${values.length}, got ${count}`);
  let sum = 0;
  for (let i = 0; i < count; i++) sum += values[i];
  const mean = sum / count;
  let squares = 0;
  for (let i = 0; i < count; i++) squares += (values[i] - mean) * (values[i] - mean);
  return { mean, variance: count > 1 ? squares / (count - 1) : 0 };
}
