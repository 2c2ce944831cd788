/** What can be said of the limit before a single frame was simulated. */
import type { Rig } from '@holdfast/sim';
import { umPerRingPx } from './derived.ts';
import { ownFormulaLimitUm } from './formula-limits.ts';

/** A limit as outer diameter of the ring, px. */
export interface LimitRange {
  readonly value: number;
  readonly low: number;
  readonly high: number;
}

/**
 * The simulated limit lies between these parts of the formula's for 95 % of random rigs: the formula does not know of lost
 * frames, and of outliers (measured: test/notebook/first-answer.test.ts).
 */
export const limitParts = { low: 0.4, high: 1.15 } as const;

export function firstLimitPx(rig: Rig): LimitRange {
  const value = ownFormulaLimitUm(rig) / umPerRingPx(rig);
  return { value, low: limitParts.low * value, high: limitParts.high * value };
}
