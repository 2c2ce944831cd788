/** Whether the range of the page's first answer holds the limit that many frames give. */
import { buildScene, measureError, type Rig } from '@holdfast/sim';
import { budgetShare, measuredOf } from '@holdfast/sim/internal';
import { umPerRingPx } from '../../examples/notebook/compute/derived.ts';
import { formulaLimit, type LimitRange } from '../../examples/notebook/compute/formula-limits.ts';

export interface Judged extends LimitRange {
  readonly isHeld: boolean;
}

const manyFrames = 256;

/** The share of the budget that a ring spends, by simulation. */
function shareOf(rig: Rig, ringPx: number): number {
  const scene = buildScene(rig, { focusShiftUm: ringPx * umPerRingPx(rig) });
  const error = measureError(scene, {
    estimator: rig.tracking.estimator,
    seed: 'many',
    trials: manyFrames,
  });
  return budgetShare(rig, measuredOf(error, scene.arcsecPerPx), { exposureS: scene.exposureS }).share;
}

export function judgeFirstAnswer(rig: Rig): Judged {
  const { value, low, high } = formulaLimit(rig).ringDiameterPx;
  // The limit of many frames lies between two rings when the budget is spent at the outer and not at the
  // inner one.
  const shareAt = (ringPx: number) => shareOf(rig, ringPx);
  const isHeld =
    high === 0 ? shareAt(0) > 1 : (low === 0 || shareAt(low) <= 1) && (low === high || shareAt(high) >= 1);
  return { value, low, high, isHeld };
}

/** A range as wide as its number would hold everything and say nothing. */
export const isNarrow = ({ value, low, high }: LimitRange): boolean => high - low <= Math.max(5, 0.8 * value);
