/** Root search on a noisy function: where the spent share of the budget passes 1. */
import type { BudgetTerm } from '../budget/budget-share.ts';
import type { Interval } from '../trials/statistics.ts';
import { expectedLimit, insideBracket, type RatioAt } from './close-bracket.ts';
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
  /**
   * The star at a distance from focus; smooth in the distance when it uses the same random numbers at each.
   * Near the limit all trials are wanted, on the way there half of them do.
   */
  readonly pointAt: (distanceUm: number, isNear: boolean) => Promise<FocusPoint>;
  /** Distances that bracket the limit first, ascending, um; the last is the largest of all. */
  readonly ladderUm: readonly number[];
  /** Where to look first, as from a formula. */
  readonly firstGuessUm: number;
}

/** The bracket is closed when its ends are this near, as a part of the distance. */
const closeEnough = 0.03;

/**
 * It need not be where the share grows no faster than this power of the distance, as with noise: a point so
 * near the limit then leaves nothing to the curve between the points.
 */
const steepestNoise = 10;

/**
 * The distance at which the spent share passes 1: on the curve through all distances tried, closed in by a
 * bracket. The 95 % interval comes from the same crossing without each batch of trials in turn (jackknife,
 * Student's distribution).
 *
 * @returns what was found, and every distance tried on the way
 */
export async function searchLimit({
  pointAt,
  ladderUm,
  firstGuessUm,
}: LimitSearchOptions): Promise<{ found: LimitFound; tried: readonly FocusPoint[] }> {
  const tried: FocusPoint[] = [];
  const at = async (distanceUm: number, isNear: boolean): Promise<FocusPoint> => {
    const point = { ...(await pointAt(distanceUm, isNear)), focusShiftUm: distanceUm };
    tried.push(point);
    return point;
  };
  const isSpent = ({ share }: FocusPoint) => share.share > 1;

  const inFocus = await at(0, false);
  if (isSpent(inFocus)) return { found: { kind: 'spent-in-focus' }, tried };
  let inside: FocusPoint | undefined;
  let outside: FocusPoint | undefined;
  // From a little inside the guess outwards, or inwards if that is too far already.
  const last = ladderUm.length - 1;
  let rung = ladderUm.findLastIndex((distance) => distance < 0.9 * firstGuessUm);
  while (inside === undefined || outside === undefined) {
    const next = rung < 0 ? inFocus : await at(ladderUm[rung], false);
    if (isSpent(next)) outside = next;
    else inside = next;
    if (inside === next && rung === last) return { found: { kind: 'beyond-range' }, tried };
    rung += isSpent(next) ? -1 : 1;
  }
  for (let i = 0; i < 14; i++) {
    if (outside.focusShiftUm - inside.focusShiftUm <= closeEnough * outside.focusShiftUm) break;
    const next = await at(insideBracket(ratioAt(inside), ratioAt(outside), closeEnough / 3), true);
    if (isSpent(next)) outside = next;
    else inside = next;
    const limit = expectedLimit(ratioAt(inside), ratioAt(outside));
    if (limit === undefined || limit.power > steepestNoise) continue;
    if (Math.abs(next.focusShiftUm / limit.distanceUm - 1) <= closeEnough) break;
  }
  const points = [...tried].sort((a, b) => a.focusShiftUm - b.focusShiftUm);
  const { shareAt, without } = curvesThrough(points);
  const end = points[points.length - 1].focusShiftUm;
  const { value, low, high } = jackknifeInterval(
    crossing(shareAt, inside.focusShiftUm, outside.focusShiftUm),
    without.map((share) => crossing(share, 0, end)),
  );
  const limitUm = { value, low: Math.max(0, low), high: Math.min(ladderUm[last], high) };
  return { found: { kind: 'limit', limitUm, limitedBy: outside.share.spentBy }, tried };
}

const ratioAt = ({ focusShiftUm, share }: FocusPoint): RatioAt => ({
  distanceUm: focusShiftUm,
  ratio: share.share,
});
