/** The outcome in a word. */
import type { FilterAdvice } from '@holdfast/sim';

/** Fewer simulated frames than this, or none, say where an outcome lies, but do not make it one. */
const fewestTrials = 64;

export const isGuess = ({ standing: { error } }: FilterAdvice): boolean => error.trials < fewestTrials;

/** A guess asks. */
export function outcomeWord(advice: FilterAdvice): string {
  const { outcome } = advice;
  if (!isGuess(advice)) return outcome;
  return outcome === 'keep' ? 'keep?' : 'outside?';
}
