/** The verdict in words: what to do, how far it could go, and the one reason. */
import type { Rig } from '@holdfast/sim';
import { significant } from '@holdfast/sim/internal';
import { decisionText, shown } from '../../figures/number-words.ts';
import type { LimitRange } from '../compute/formula-limits.ts';
import type { LimitNow, StarNow } from '../compute/ring-now.ts';

export interface VerdictWords {
  readonly outcome: 'keep' | 'trim' | 'refocus' | 'near';
  /** KEEP, TRIM what, REFOCUS. */
  readonly head: string;
  readonly limit: string;
  readonly reason: string;
}

/** @param star  the newest answer for a ring, which may be an earlier one: then the limit alone decides */
export function verdictWords(rig: Rig, px: number, limit: LimitNow, star: StarNow | undefined): VerdictWords {
  const own = star?.px === px ? star : undefined;
  const outcome = own?.advice?.outcome ?? byLimit(px, limit.px);
  const about = own?.advice === undefined ? 'About: ' : '';
  const heads = {
    keep: 'KEEP',
    trim: `TRIM: ${own?.advice?.trim?.change ?? 'something cheap'}`,
    refocus: own?.advice ? 'REFOCUS' : 'TRIM or REFOCUS',
    near: 'AT THE LIMIT',
  };
  return {
    outcome,
    head: `${about}${heads[outcome]}`,
    limit: limitSentence(limit),
    reason: own === undefined ? '' : reasonSentence(rig, px, own),
  };
}

function byLimit(px: number, { low, high }: LimitRange): VerdictWords['outcome'] {
  if (px <= low) return 'keep';
  return px > high ? 'refocus' : 'near';
}

function limitSentence({ px, umPerPx, limitedBy, trials, isDone }: LimitNow): string {
  if (limitedBy === 'out-of-budget-in-focus' || px.high === 0)
    return 'This star is not good enough even in focus: choose a brighter one, or expose for longer.';
  const um = (value: number) => significant(value * umPerPx, 2);
  const frames =
    trials === 0
      ? 'by formula, simulated frames follow'
      : `${trials} simulated frames per ring${isDone ? '' : ', more follow'}`;
  const isRough = limitedBy === undefined;
  // The interval in the same digits as its number, so that the number lies in it.
  const ring = (value: number) => significant(value, px.value < 100 ? 2 : 3);
  const upTo = isRough ? `${ring(px.low)} to ${ring(px.high)} px` : `${ring(px.value)} px`;
  const focus = isRough ? `${um(px.low)} to ${um(px.high)} µm` : `${um(px.value)} µm`;
  const [low, high] = [ring(px.low), ring(px.high)];
  const interval = low === high ? 'narrower than 1 px' : `${low} to ${high} px`;
  const how = isRough ? frames : `95 % interval ${interval}, ${frames}`;
  const far = limitedBy === 'ring-size' ? 'as far as is simulated: ' : 'up to ';
  return shown(`Your star stays usable ${far}a ring of ${upTo} (${focus} out of focus; ${how}).`);
}

function reasonSentence(rig: Rig, px: number, { assessment, advice }: StarNow): string {
  const { growth, error } = assessment;
  const { fwhmGrowthPercent, lostFractionPercent } = rig.budget;
  const at = `At ${px} px`;
  if (growth === undefined) return shown(`${at} the star gives no position.`);
  const lost = 100 * error.lostFraction.value;
  const isLost = lost > 0.05 * lostFractionPercent;
  const first = `${at} it adds ${decisionText(growth.growthPercent, fwhmGrowthPercent)} % to the size of the stars in your picture (you accept ${fwhmGrowthPercent} %)`;
  const second = isLost
    ? `; ${significant(lost, 2)} % of the guide frames give no position (you accept ${lostFractionPercent} %)`
    : '';
  const isWithin = growth.growthPercent.value <= fwhmGrowthPercent && lost <= lostFractionPercent;
  if (advice && advice.outcome !== 'keep' && isWithin) return shown(`${at}: ${advice.reason}.`);
  const how = `, ${error.trials} simulated frames`;
  return shown(`${first}${second}${how}.`);
}
