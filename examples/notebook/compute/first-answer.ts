/** The first answer about a rig: its limit from few simulated frames, as a range. */
import { type Assessment, buildScene, measureError, type Rig, type SceneSetting } from '@holdfast/sim';
import { type BudgetShare, budgetShare, measuredOf } from '@holdfast/sim/internal';
import { umPerRingPx } from './derived.ts';
import { likelyAssessment, numbersOf } from './formula-error.ts';
import { lastWithin } from './formula-limits.ts';

/** A limit as outer diameter of the ring, px. */
export interface LimitRange {
  readonly value: number;
  readonly low: number;
  readonly high: number;
}

/** Few enough for a moment. */
export const firstTrials = 64;
/** Where the search begins, and the largest ring that is simulated, px. */
const firstRingPx = 16;
const largestRingPx = 300;
/**
 * The range is this part of its number wide to either side, at least: what few frames lose comes in steps.
 */
const least = 0.15;
/** Nor narrower than this, px: near focus the blur hides how large the ring is. */
const leastPx = 2;
/**
 * The share of the budget grows at least as the square of the ring, so that two standard errors of the share
 * are one of the ring; the limit of many frames lies in the range for 95 % of random rigs
 * (test/notebook/first-answer.test.ts).
 */
const wider = 1.3;

/** @param trials  simulated frames at each ring that is tried */
export function roughLimit(rig: Rig, seed: string, trials: number = firstTrials): LimitRange {
  const { widthPx, heightPx, binning } = rig.guideCamera;
  const mostPx = Math.min(largestRingPx, Math.min(widthPx, heightPx) / binning / 2);
  const shareAt = (ringPx: number): BudgetShare => shareOf(rig, ringPx, seed, trials);
  const value = lastWithin(firstRingPx, mostPx, (ringPx) => shareAt(ringPx).share);
  if (value === mostPx) return { value, low: value, high: value };
  const { share, shareError } = shareAt(value);
  // Outside the budget beyond doubt, even in focus.
  if (value === 0 && share - 2 * shareError > 1) return { value, low: 0, high: 0 };
  const half = Math.max(leastPx, Math.max(least, (wider * shareError) / share) * value);
  return { value, low: Math.max(0, value - half), high: Math.min(mostPx, value + half) };
}

/** The share of the budget that a ring spends, from so many simulated frames. */
export function shareOf(rig: Rig, ringPx: number, seed: string, trials: number): BudgetShare {
  const scene = buildScene(rig, { focusShiftUm: ringPx * umPerRingPx(rig) });
  const error = measureError(scene, { estimator: rig.tracking.estimator, seed, trials });
  return budgetShare(rig, measuredOf(error, scene.arcsecPerPx), { exposureS: scene.exposureS });
}

/** How a star stands by a few frames: by its value alone, without its interval. */
export function firstAssessment(rig: Rig, setting: SceneSetting, seed: string): Assessment {
  const scene = buildScene(rig, setting);
  const error = measureError(scene, { estimator: rig.tracking.estimator, seed, trials: firstTrials });
  return likelyAssessment(rig, numbersOf(scene, setting), error);
}
