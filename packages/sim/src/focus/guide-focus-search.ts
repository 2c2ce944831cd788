/**
 * Where to set a guide camera whose focus shifts with each filter: the least of the worst share, or of the
 * mean.
 */
import type { ShareCurve } from './focus-curve.ts';

/** A filter as the search sees it: with a guide camera set to 0, its focus shift lies between these. */
export interface FilterRange {
  readonly filter: string;
  readonly lowUm: number;
  readonly highUm: number;
  /** Share of the time; only ratios count. */
  readonly weight: number;
}

/** The curve of a filter's own light. */
export type CurveOf = (filter: FilterRange) => ShareCurve;

/** `worst`: no filter shall be badly off; `mean`: the average over the time of exposure counts. */
export type GuideFocusAim = 'worst' | 'mean';

/** A setting of the guide camera, um. */
export interface FoundSetting {
  /** The middle of the settings that are as good as the best. */
  readonly settingUm: number;
  /** What the aim comes to there: 1 = the whole budget. */
  readonly cost: number;
  /** Settings that are as good as the best, within the tolerance. */
  readonly lowUm: number;
  readonly highUm: number;
}

/** Share of the budget that a filter spends at a setting: the most that it spends on the way of its drift. */
export function worstOnTheWay(curveOf: CurveOf, filter: FilterRange, settingUm: number): number {
  const { lowUm, highUm } = filter;
  const shareAt = curveOf(filter);
  const low = shareAt(settingUm + lowUm);
  if (highUm === lowUm) return low;
  return Math.max(low, shareAt(settingUm + 0.5 * (lowUm + highUm)), shareAt(settingUm + highUm));
}

/** The mean over its drift, by Simpson's rule. */
function meanOnTheWay(curveOf: CurveOf, filter: FilterRange, settingUm: number): number {
  const { lowUm, highUm } = filter;
  const shareAt = curveOf(filter);
  const low = shareAt(settingUm + lowUm);
  if (highUm === lowUm) return low;
  return (low + 4 * shareAt(settingUm + 0.5 * (lowUm + highUm)) + shareAt(settingUm + highUm)) / 6;
}

/** What a setting costs: the largest share among the filters, or their mean weighted by time. */
export function costOf(
  curveOf: CurveOf,
  filters: readonly FilterRange[],
  aim: GuideFocusAim,
  settingUm: number,
): number {
  let worst = 0;
  let sum = 0;
  let weights = 0;
  for (const filter of filters) {
    if (aim === 'worst') worst = Math.max(worst, worstOnTheWay(curveOf, filter, settingUm));
    else sum += filter.weight * meanOnTheWay(curveOf, filter, settingUm);
    weights += filter.weight;
  }
  return aim === 'worst' ? worst : sum / weights;
}

const coarseSteps = 400;
const fineSteps = 24;
const zooms = 4;

/**
 * The setting of least cost between two ends: a grid over all of it, so that no second minimum is missed,
 * then ever finer grids around the best. Of the settings whose cost is within `tolerance` of the least, the
 * middle one is taken: where chance cannot tell settings apart, the one with most room on both sides is the
 * best.
 *
 * For a share that is the same on both sides of focus and grows with the distance the worst filter is as well
 * off as it can be where the two extreme filters stand equally far from focus: the setting is minus the
 * middle of their shifts.
 */
export function searchGuideFocus(
  cost: (settingUm: number) => number,
  { fromUm, toUm, tolerance }: { readonly fromUm: number; readonly toUm: number; readonly tolerance: number },
): FoundSetting {
  const step = (toUm - fromUm) / coarseSteps;
  let best = fromUm;
  let least = Infinity;
  const look = (from: number, spacing: number, count: number): void => {
    for (let i = 0; i <= count; i++) {
      const at = Math.min(toUm, Math.max(fromUm, from + i * spacing));
      const value = cost(at);
      if (value < least) {
        least = value;
        best = at;
      }
    }
  };
  look(fromUm, step, coarseSteps);
  for (let zoom = 0, width = step; zoom < zooms; zoom++, width *= 4 / fineSteps)
    look(best - width, (2 * width) / fineSteps, fineSteps);
  const allowed = least + tolerance;
  const lowUm = edgeOf(cost, best, -step, fromUm, allowed);
  const highUm = edgeOf(cost, best, step, toUm, allowed);
  const settingUm = 0.5 * (lowUm + highUm);
  return { settingUm, cost: cost(settingUm), lowUm, highUm };
}

/** From a setting outwards, the last one whose cost is allowed. */
function edgeOf(
  cost: (settingUm: number) => number,
  best: number,
  step: number,
  end: number,
  allowed: number,
): number {
  let inside = best;
  let outside = best;
  do {
    inside = outside;
    if (inside === end) return end;
    outside = step > 0 ? Math.min(end, inside + step) : Math.max(end, inside + step);
  } while (cost(outside) <= allowed);
  for (let i = 0; i < 40; i++) {
    const middle = 0.5 * (inside + outside);
    if (cost(middle) <= allowed) inside = middle;
    else outside = middle;
  }
  return inside;
}
