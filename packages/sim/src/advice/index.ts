/**
 * From the error of a position to decisions: focus limit, trims, filters, the best guide focus.
 *
 * limit-search        root search on a noisy function
 * focus-limit         the largest focus shift within the budget
 * standing            how the guide star does at one setting, against the budget
 * trim                cheap changes that bring it back into the budget
 * advice              keep, trim or refocus for each filter
 * filter-change       from one filter to the next: what becomes of the guide star
 * best-guide-focus    the one setting of the guide camera that suits all filters best
 * guide-focus-search  where that is, on a curve
 * focus-curve         the spent share of the budget over the focus shift, tabulated
 * curve-limits        where on that curve the budget ends
 * monotone-cubic      a smooth curve through points
 * jackknife          what chance does to a result, by leaving trials out
 * night-advice        the advice with what takes longer: every remedy, odds of a guide star, a focus run
 * focus-run-effect    what a focus run does to guiding
 * not-modelled        what the numbers do not know of
 */
export {
  type AdviseOptions,
  adviseRefocus,
  adviseStar,
  type CompleteAdvice,
  type FilterAdvice,
  type Outcome,
  type RefocusAdvice,
  type StarAdvice,
} from './advice.ts';
export {
  type BestGuideFocus,
  type BestGuideFocusOptions,
  bestGuideFocus,
  type FilterShare,
  type GuideFocusSetting,
} from './best-guide-focus.ts';
export type { FilterChange } from './filter-change.ts';
export {
  type FocusLimit,
  type FocusLimitOptions,
  focusLimit,
  type LimitedBy,
  type SideLimit,
} from './focus-limit.ts';
export type { FocusRunEffect, FocusRunOutcome } from './focus-run-effect.ts';
export type { GuideFocusAim } from './guide-focus-search.ts';
export {
  type AdviseNightOptions,
  adviseNight,
  type FilterRemedies,
  type NightAdvice,
} from './night-advice.ts';
export type { Standing } from './standing.ts';
export { smallestTrims, type Trim, type TrimKind, type TrimReach, trimKinds } from './trim.ts';
