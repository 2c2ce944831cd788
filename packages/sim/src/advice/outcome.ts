/** What one star, or one filter, is advised. */

import type { Assessment } from './assessment.ts';
import type { OtherMethod } from './other-method.ts';
import type { Trim } from './trim.ts';

/**
 * - `keep`: within the budget as it is;
 * - `trim`: within the budget only with the named change;
 * - `refocus`: outside the budget with every combination of up to three changes that was tried, other stars
 *   counted up to 1 mag brighter or 4 alike.
 */
export type Outcome = 'keep' | 'trim' | 'refocus';

/** What to do about one star at one focus shift. */
export interface StarAdvice {
  /** Focus shift at the guide sensor, um. */
  readonly focusShiftUm: number;
  /** How the star does there, against the budget. */
  readonly assessment: Assessment;
  /** What to do. */
  readonly outcome: Outcome;
  /** The change that brings it back into the budget; absent unless the outcome is `trim`. */
  readonly trim?: Trim;
  /**
   * A method beyond `tracking.available` that would keep it within the budget; looked for only at `refocus`.
   */
  readonly otherMethod?: OtherMethod;
  /** Why, with its numbers, for a person to read. */
  readonly reason: string;
}

/** What to do about the star at one filter. */
export interface FilterAdvice extends StarAdvice {
  /** Name of the filter. */
  readonly filter: string;
}
