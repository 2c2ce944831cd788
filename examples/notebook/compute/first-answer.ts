/** The first answer about a rig: its limit from few simulated frames, as a range. */
import { buildScene, measureError, type Rig, type SceneSetting, type Standing } from '@holdfast/sim';
import { budgetShare, searchLimit } from '@holdfast/sim/internal';
import { umPerRingPx } from './derived.ts';
import { likelyStanding, numbersOf } from './formula-error.ts';

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
 * How much wider the range is than the interval of its own frames: the answer of many frames lies in it for 95 % of random rigs
 * (test/notebook/first-answer.test.ts).
 */
const wider = 1.5;
/** What few frames lose comes in steps: no range is narrower than this part of its number to either side. */
const least = 0.15;

/** @param trials  simulated frames at each ring that is tried */
export async function roughLimit(rig: Rig, seed: string, trials: number = firstTrials): Promise<LimitRange> {
  const umPerPx = umPerRingPx(rig);
  const { widthPx, heightPx, binning } = rig.guideCamera;
  const mostPx = Math.min(largestRingPx, Math.min(widthPx, heightPx) / binning / 2);
  const { estimator } = rig.tracking;
  const { found } = await searchLimit({
    firstGuessUm: firstRingPx * umPerPx,
    largestUm: mostPx * umPerPx,
    closeEnough: 0.06,
    shareAt: async (focusShiftUm) =>
      budgetShare(rig, measureError(buildScene(rig, { focusShiftUm }), { estimator, seed, trials })),
  });
  if (found.kind === 'beyond-range') return { value: mostPx, low: mostPx, high: mostPx };
  if (found.kind !== 'limit') return { value: 0, low: 0, high: 0 };
  const { value, low, high } = found.limitUm;
  return {
    value: value / umPerPx,
    low: Math.max(0, value - Math.max(least * value, wider * (value - low))) / umPerPx,
    high: Math.min(mostPx, (value + Math.max(least * value, wider * (high - value))) / umPerPx),
  };
}

/** How a star stands by a few frames: by its value alone, without its interval. */
export function firstStanding(rig: Rig, setting: SceneSetting, seed: string): Standing {
  const scene = buildScene(rig, setting);
  const error = measureError(scene, { estimator: rig.tracking.estimator, seed, trials: firstTrials });
  return likelyStanding(rig, numbersOf(scene, setting), error);
}
