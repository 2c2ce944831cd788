/**
 * What chance does to a result that comes out of all trials together: the result without each batch of them
 * in turn.
 */

import type { Interval } from '../trials/statistics.ts';
import { batches, students95 } from './focus-point.ts';

/**
 * Standard error of a result from what it is without each batch: sqrt((B - 1) / B * sum (r_b - mean)^2)
 * (Quenouille, Tukey; textbook).
 */
export function jackknifeError(left: readonly number[]): number {
  const mean = left.reduce((a, b) => a + b, 0) / left.length;
  const squares = left.reduce((sum, value) => sum + (value - mean) ** 2, 0);
  return Math.sqrt(((batches - 1) / batches) * squares);
}

/** 95 % interval by Student's distribution, at least `least` to either side. */
export function jackknifeInterval(value: number, left: readonly number[], least = 0): Interval {
  const half = Math.max(least, students95 * jackknifeError(left));
  return { value, low: value - half, high: value + half };
}
