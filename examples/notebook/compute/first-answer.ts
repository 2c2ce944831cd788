/** What can be said of one star before a single frame was simulated: its error by formula, and a range for the limit. */
import type { Rig, Standing } from '@holdfast/sim';
import { significant } from '@holdfast/sim/internal';
import { fNumberOf, pixelUmOf } from './derived.ts';
import { formulaStanding } from './formula-error.ts';
import { ownFormulaLimitUm } from './formula-limits.ts';

/** A limit as outer diameter of the ring, px. */
export interface LimitRange {
  readonly value: number;
  readonly low: number;
  readonly high: number;
}

export interface FirstAnswer {
  readonly standing: Standing;
  readonly limitPx: LimitRange;
}

/**
 * The simulated limit lies between these parts of the formula's for 95 % of random rigs: the formula does not know of lost
 * frames, and of outliers (measured: test/notebook/first-answer.test.ts).
 */
export const limitParts = { low: 0.4, high: 1.15 } as const;

export function firstAnswer(rig: Rig, focusShiftUm: number): FirstAnswer {
  return {
    standing: formulaStanding(rig, { focusShiftUm }, rig.tracking.estimator),
    limitPx: firstLimitPx(rig),
  };
}

export function firstLimitPx(rig: Rig): LimitRange {
  const value = ownFormulaLimitUm(rig) / (pixelUmOf(rig) * fNumberOf(rig));
  return { value, low: limitParts.low * value, high: limitParts.high * value };
}

/** `about 24 px`, or `10 to 28 px` for what is known too little for one number. */
export function rangeText({ value, low, high }: LimitRange): string {
  const isNarrow = high - low <= 0.2 * value;
  return isNarrow ? `about ${significant(value, 2)}` : `${significant(low, 2)} to ${significant(high, 2)}`;
}
