/** The outcome in a word. */
import type { FilterAdvice } from '@holdfast/sim';

/** By formula or by the first few frames: it says where the outcome will lie. */
export interface GuessedAdvice extends FilterAdvice {
  readonly isGuess: true;
}

export const isGuess = (advice: FilterAdvice): advice is GuessedAdvice =>
  'isGuess' in advice || advice.assessment.error.trials === 0;

/** A guess asks. */
export function outcomeWord(advice: FilterAdvice): string {
  const { outcome } = advice;
  if (!isGuess(advice)) return outcome;
  return outcome === 'keep' ? 'keep?' : 'outside?';
}
