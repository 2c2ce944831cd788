/** The answer by formula: what can be said before a single frame was simulated. */
import type { FilterAdvice, FocusLimit, RefocusAdvice, Rig } from '@holdfast/sim';
import { formulaStanding } from './formula-error.ts';

/** The filters one by one, a step each. */
export function* filtersByFormula(rig: Rig): Generator<undefined, FilterAdvice[], unknown> {
  const { estimator } = rig.tracking;
  const filters: FilterAdvice[] = [];
  for (const { name, focusShiftUm: shift } of rig.filters) {
    const focusShiftUm = shift + rig.guideFocusShiftUm;
    const standing = formulaStanding(rig, { focusShiftUm }, estimator);
    const outcome = standing.verdict === 'within' ? 'keep' : 'refocus';
    const reason = reasonOf(rig, standing.growth?.growthPercent.value);
    filters.push({ filter: name, focusShiftUm, standing, outcome, reason });
    yield undefined;
  }
  return filters;
}

export function adviceByFormula(
  rig: Rig,
  seed: string,
  filters: readonly FilterAdvice[],
  limit: FocusLimit,
): RefocusAdvice {
  const { estimator } = rig.tracking;
  const inFocus = formulaStanding(rig, { focusShiftUm: 0 }, estimator);
  return { rig: rig.name, estimator, seed, trials: 0, inFocus, filters, limit, notModelled: [] };
}

function reasonOf(rig: Rig, growthPercent: number | undefined): string {
  if (growthPercent === undefined) return 'by formula the star is not found';
  const allowed = rig.budget.fwhmGrowthPercent;
  return `by formula the stars of the picture grow by ${growthPercent.toPrecision(2)} %, ${
    growthPercent <= allowed ? 'within' : 'more than'
  } the ${allowed} % that the budget allows; whether frames are lost, the simulation will tell`;
}
