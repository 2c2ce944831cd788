/** The outcome in a word. */
import type { FilterAdvice } from '@holdfast/sim';

/** Without simulated frames it is a guess from the formula, and asks. */
export function outcomeWord({ outcome, standing: { error } }: FilterAdvice): string {
  if (error.trials > 0) return outcome;
  return outcome === 'keep' ? 'keep?' : 'outside?';
}
