/** Root search on a noisy function: where the spent share of the budget passes 1. */
import { log } from '@holdfast/psf/numerics';
import type { BudgetTerm } from '../budget/budget-share.ts';
import type { Interval } from '../trials/statistics.ts';
import { crossing } from './curve-limits.ts';
import { curvesThrough } from './focus-curve.ts';
import type { FocusPoint } from './focus-point.ts';
import { jackknifeInterval } from './jackknife.ts';

/** What was found on one side of focus; distances from focus, um. */
export type LimitFound =
  | { readonly kind: 'limit'; readonly limitUm: Interval; readonly limitedBy: BudgetTerm }
  /** within the budget out to the largest distance */
  | { readonly kind: 'beyond-range' }
  /** outside the budget even in focus */
  | { readonly kind: 'spent-in-focus' };

export interface LimitSearchOptions {
  /** The star at a distance from focus; smooth in the distance when it uses the same random numbers at each. */
  readonly pointAt: (distanceUm: number) => Promise<FocusPoint>;
  /** Where to look first, as from a formula. */
  readonly firstGuessUm: number;
  readonly largestUm: number;
}

/** The bracket is closed when its ends are this near, as a part of the distance. */
const closeEnough = 0.03;

/**
 * The distance at which the spent share passes 1: on the curve through all distances tried, closed in by a bracket. The 95 %
 * interval comes from the same crossing without each batch of trials in turn (jackknife, Student's distribution).
 *
 * @returns what was found, and every distance tried on the way
 */
export async function searchLimit({
  pointAt,
  firstGuessUm,
  largestUm,
}: LimitSearchOptions): Promise<{ found: LimitFound; tried: readonly FocusPoint[] }> {
  const tried: FocusPoint[] = [];
  const at = async (distanceUm: number): Promise<FocusPoint> => {
    const point = { ...(await pointAt(distanceUm)), focusShiftUm: distanceUm };
    tried.push(point);
    return point;
  };
  const isSpent = ({ share }: FocusPoint) => share.share > 1;

  let inside = await at(0);
  if (isSpent(inside)) return { found: { kind: 'spent-in-focus' }, tried };
  let outside: FocusPoint | undefined;
  // From a little inside the guess outwards.
  for (let distance = Math.min(0.8 * firstGuessUm, largestUm); outside === undefined; distance *= 1.5) {
    const next = await at(Math.min(distance, largestUm));
    if (isSpent(next)) outside = next;
    else {
      inside = next;
      if (distance >= largestUm) return { found: { kind: 'beyond-range' }, tried };
    }
  }
  // The secant of log(share), kept off the ends.
  for (let i = 0; i < 14; i++) {
    const span = outside.focusShiftUm - inside.focusShiftUm;
    if (span <= closeEnough * outside.focusShiftUm) break;
    const low = log(Math.max(inside.share.share, 1e-3));
    const part = -low / (log(outside.share.share) - low);
    const next = await at(inside.focusShiftUm + span * Math.min(0.9, Math.max(0.1, part)));
    if (isSpent(next)) outside = next;
    else inside = next;
  }
  const points = [...tried].sort((a, b) => a.focusShiftUm - b.focusShiftUm);
  const { shareAt, without } = curvesThrough(points);
  const end = points[points.length - 1].focusShiftUm;
  const { value, low, high } = jackknifeInterval(
    crossing(shareAt, inside.focusShiftUm, outside.focusShiftUm),
    without.map((share) => crossing(share, 0, end)),
  );
  const limitUm = { value, low: Math.max(0, low), high: Math.min(largestUm, high) };
  return { found: { kind: 'limit', limitUm, limitedBy: outside.share.spentBy }, tried };
}
