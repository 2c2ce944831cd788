/** The answer by formula: what can be said before a single frame was simulated. */
import type { Assessment, Rig } from '@holdfast/sim';
import { decisionText } from '../../figures/number-words.ts';
import type { GuessedAdvice } from '../../figures/outcome-word.ts';
import { formulaAssessment } from './formula-error.ts';

export interface FormulaAnswer {
  readonly inFocus: Assessment;
  readonly filters: readonly GuessedAdvice[];
}

export function formulaAnswer(rig: Rig): FormulaAnswer {
  const { estimator } = rig.tracking;
  const filters = rig.filters.map(({ name, focusShiftUm: shift }) => {
    const focusShiftUm = shift + rig.guideFocusShiftUm;
    const assessment = formulaAssessment(rig, { focusShiftUm }, estimator);
    return filterGuess(rig, name, focusShiftUm, assessment);
  });
  const inFocus = formulaAssessment(rig, { focusShiftUm: 0 }, estimator);
  return { inFocus, filters };
}

/** What a filter's assessment points to, when it is known too little to be advice. */
export function filterGuess(
  rig: Rig,
  filter: string,
  focusShiftUm: number,
  assessment: Assessment,
): GuessedAdvice {
  const outcome = assessment.verdict === 'within' ? 'keep' : 'refocus';
  return { filter, focusShiftUm, assessment, outcome, reason: reasonOf(rig, assessment), isGuess: true };
}

function reasonOf(rig: Rig, { growth, error }: Assessment): string {
  const how = error.trials === 0 ? 'by formula' : `in the first ${error.trials} frames`;
  if (growth === undefined) return `${how} the star is not found`;
  const { value } = growth.growthPercent;
  const allowed = rig.budget.fwhmGrowthPercent;
  return `${how} the stars of the picture grow by ${decisionText(growth.growthPercent, allowed)} %, ${
    value <= allowed ? 'within' : 'more than'
  } the ${allowed} % that the budget allows; ${
    error.trials === 0 ? 'the simulation will show whether frames are lost' : 'more frames will show it'
  }`;
}
