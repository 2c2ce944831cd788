/** Root search on a noisy function: where the spent share of the budget passes 1. */
import { log } from '@holdfast/psf/numerics';
import type { BudgetShare, BudgetTerm } from '../budget/budget-share.ts';
import { type Interval, sigmas95 } from '../trials/statistics.ts';

/** What was found on one side of focus; distances from focus, um. */
export type LimitFound =
  | { readonly kind: 'limit'; readonly limitUm: Interval; readonly limitedBy: BudgetTerm }
  /** within the budget out to the largest distance */
  | { readonly kind: 'beyond-range' }
  /** outside the budget even in focus */
  | { readonly kind: 'spent-in-focus' }
  /** saturated wherever it is not spent otherwise */
  | { readonly kind: 'saturated' };

/** A distance that was tried. */
export interface Tried extends BudgetShare {
  readonly distanceUm: number;
}

export interface LimitSearchOptions {
  /** Share of the budget spent at a distance from focus; smooth when it uses the same random numbers at each. */
  readonly shareAt: (distanceUm: number) => Promise<BudgetShare>;
  /** Where to look first, as from a formula. */
  readonly firstGuessUm: number;
  readonly largestUm: number;
}

/** The bracket is closed when its ends are this near, as a part of the distance. */
const closeEnough = 0.01;

/**
 * The distance at which the spent share passes 1, with a 95 % interval: half of the last bracket and the standard error of
 * the share over its slope.
 *
 * @returns what was found, and every distance tried on the way
 */
export async function searchLimit({
  shareAt,
  firstGuessUm,
  largestUm,
}: LimitSearchOptions): Promise<{ found: LimitFound; tried: readonly Tried[] }> {
  const tried: Tried[] = [];
  const at = async (distanceUm: number): Promise<Tried> => {
    const result = { distanceUm, ...(await shareAt(distanceUm)) };
    tried.push(result);
    return result;
  };
  const spent = ({ share, saturated }: Tried) => share > 1 && !saturated;

  let inside = await at(0);
  if (spent(inside)) return { found: { kind: 'spent-in-focus' }, tried };
  let outside: Tried | undefined;
  // From a little inside the guess outwards; a star that saturates in focus is usable once it is spread.
  for (let distance = Math.min(0.8 * firstGuessUm, largestUm); outside === undefined; distance *= 1.5) {
    const next = await at(Math.min(distance, largestUm));
    if (spent(next)) outside = next;
    else {
      inside = next;
      if (distance >= largestUm)
        return { found: { kind: next.saturated ? 'saturated' : 'beyond-range' }, tried };
    }
  }
  if (inside.saturated) return { found: { kind: 'saturated' }, tried };

  // The secant of log(share), kept off the ends.
  for (let i = 0; i < 14 && outside.distanceUm - inside.distanceUm > closeEnough * outside.distanceUm; i++) {
    const low = log(Math.max(inside.share, 1e-3));
    const part = -low / (log(outside.share) - low);
    const span = outside.distanceUm - inside.distanceUm;
    const next = await at(inside.distanceUm + span * Math.min(0.9, Math.max(0.1, part)));
    if (next.share > 1) outside = next;
    else inside = next;
  }
  const value = 0.5 * (inside.distanceUm + outside.distanceUm);
  const slope = slopeAround(tried, value);
  const half =
    0.5 * (outside.distanceUm - inside.distanceUm) +
    (slope > 0 ? (sigmas95 * outside.shareError) / slope : Infinity);
  const limitUm = { value, low: Math.max(0, value - half), high: Math.min(largestUm, value + half) };
  return { found: { kind: 'limit', limitUm, limitedBy: outside.spentBy }, tried };
}

/** Rise of the share per um between tried distances a little away on either side, where the noise of one does not rule it. */
function slopeAround(tried: readonly Tried[], distanceUm: number): number {
  const near = (away: number) => Math.abs(away) >= 0.03 * distanceUm;
  const below = tried
    .filter((t) => t.distanceUm < distanceUm && near(distanceUm - t.distanceUm))
    .reduce<Tried | undefined>((a, b) => (a === undefined || b.distanceUm > a.distanceUm ? b : a), undefined);
  const above = tried
    .filter((t) => t.distanceUm > distanceUm)
    .reduce<Tried | undefined>((a, b) => {
      if (a === undefined) return b;
      // The nearest one that is far enough, or else the farthest there is.
      const [aFar, bFar] = [near(a.distanceUm - distanceUm), near(b.distanceUm - distanceUm)];
      if (aFar && bFar) return b.distanceUm < a.distanceUm ? b : a;
      return bFar ? b : aFar ? a : b.distanceUm > a.distanceUm ? b : a;
    }, undefined);
  if (below === undefined || above === undefined) return 0;
  return (above.share - below.share) / (above.distanceUm - below.distanceUm);
}
