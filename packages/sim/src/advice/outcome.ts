/** What one star, or one filter, is advised. */
import type { Standing } from './standing.ts';
import type { Trim } from './trim.ts';

/**
 * - `keep`: within the budget as it is;
 * - `trim`: within the budget only with the named change;
 * - `refocus`: outside the budget with every combination of up to three changes that was tried, other stars counted up to
 *   1 mag brighter or 4 alike.
 */
export type Outcome = 'keep' | 'trim' | 'refocus';

/** What to do about one star at one focus shift. */
export interface StarAdvice {
  /** Focus shift at the guide sensor, um. */
  readonly focusShiftUm: number;
  readonly standing: Standing;
  readonly outcome: Outcome;
  readonly trim?: Trim;
  readonly reason: string;
}

export interface FilterAdvice extends StarAdvice {
  readonly filter: string;
}
