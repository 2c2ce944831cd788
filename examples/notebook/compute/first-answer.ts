/** The first answer about a rig: its limit by formula, as a range, and a star by few simulated frames. */
import { type Assessment, buildScene, measureError, type Rig, type SceneSetting } from '@holdfast/sim';
import { likelyAssessment, numbersOf } from './formula-error.ts';
import { formulaLimit, shareByFormula } from './formula-limits.ts';

/** A limit as outer diameter of the ring, px. */
export interface LimitRange {
  readonly value: number;
  readonly low: number;
  readonly high: number;
}

/** Few enough for a moment. */
const firstTrials = 64;
/**
 * The range is this part of its number wide to either side: the limit of many frames lies in it for 95 % of
 * random rigs (test/notebook/first-answer.test.ts). The formula knows nothing of lost frames.
 */
const half = 0.15;
/** Nor narrower than this, px: near focus the blur hides how large the ring is. */
const leastPx = 2;
/** A star in focus that spends this many times the budget is outside it beyond doubt. */
const farOutside = 1.5;

export function firstLimit(rig: Rig): LimitRange {
  const { ringDiameterPx, limitedBy } = formulaLimit(rig);
  const { value } = ringDiameterPx;
  if (limitedBy === 'ring-size') return { value, low: value, high: value };
  if (value === 0 && shareByFormula(rig, 0) > farOutside) return { value, low: 0, high: 0 };
  const spread = Math.max(leastPx, half * value);
  return { value, low: Math.max(0, value - spread), high: value + spread };
}

/** How a star stands by a few frames: by its value alone, without its interval. */
export function firstAssessment(rig: Rig, setting: SceneSetting, seed: string): Assessment {
  const scene = buildScene(rig, setting);
  const error = measureError(scene, { estimator: rig.tracking.estimator, seed, trials: firstTrials });
  return likelyAssessment(rig, numbersOf(scene, setting), error);
}
