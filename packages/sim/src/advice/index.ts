/**
 * From the error of a position to decisions: keep, trim or refocus.
 *
 * advice            keep, trim or refocus for each filter
 * outcome           what one star, or one filter, is advised
 * assessment        how the guide star does at one setting, against the budget
 * trim              the cheapest change or combination that brings it back into the budget
 * other-method      a method that the rig does not offer, where none that it offers does
 * variation         what can be changed, and what each change costs
 * filter-change     from one filter to the next: what becomes of the guide star
 * night-advice      the advice with what takes longer: every remedy, odds of a guide star, a focus run
 * focus-run-effect  what a focus run does to guiding
 * beside-star       fainter stars and hot pixels in its window, as chances
 * not-modeled      what nobody can know, and by how much it could move the answer
 * star-words        for which star an answer is, in words
 */
export {
  type AdviseOptions,
  adviseRefocus,
  adviseStar,
  type CompleteAdvice,
  type RefocusAdvice,
} from './advice.ts';
export type { Assessment } from './assessment.ts';
export type { Beside, BesideStar } from './beside-star.ts';
export type { FilterChange } from './filter-change.ts';
export type { FocusRunEffect, FocusRunOutcome } from './focus-run-effect.ts';
export {
  type AdviseNightOptions,
  adviseNight,
  type FilterRemedies,
  type NightAdvice,
} from './night-advice.ts';
export type { OtherMethod } from './other-method.ts';
export type { FilterAdvice, Outcome, StarAdvice } from './outcome.ts';
export { starWords } from './star-words.ts';
export type { Trim } from './trim.ts';
export type { TrimKind } from './variation.ts';
