/**
 * How far out of focus, and where to set the focus: the focus limit, the best guide focus.
 *
 * focus-limit         the largest focus shift within the budget
 * formula-limit       the same by an expected error, without simulation
 * focus-point         the star at one focus shift, by trials in batches
 * focus-curve         the spent share of the budget over the focus shift, tabulated
 * curve-limits        where on that curve the budget ends
 * limit-search        root search on a noisy function
 * close-bracket       the next distance to try, and the limit of a formula
 * assumption-effects  which assumptions of a started rig move the limit most
 * best-guide-focus    the one setting of the guide camera that suits all filters best
 * guide-focus-search  where that is, on a curve
 * jackknife           what chance does to a result, by leaving trials out
 */

export {
  type AssumptionEffect,
  type AssumptionEffectOptions,
  assumptionEffects,
} from './assumption-effects.ts';
export {
  type BestGuideFocus,
  type BestGuideFocusOptions,
  bestGuideFocus,
  type FilterShare,
  type GuideFocusSetting,
} from './best-guide-focus.ts';
export {
  type FocusLimit,
  type FocusLimitOptions,
  focusLimit,
  type LimitedBy,
  type SideLimit,
} from './focus-limit.ts';
export type { GuideFocusAim } from './guide-focus-search.ts';
