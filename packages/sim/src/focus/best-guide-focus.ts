/** The one setting of the guide camera at which all filters of a rig stay as safe as they can. */

import { exp, log, requireNames } from '@holdfast/psf/numerics';
import { type LongWorkOptions, longWorkNames } from '../long-work.ts';
import { rigThrough } from '../rig/guide-light.ts';
import type { EstimatorName, Rig } from '../rig/rig-schema.ts';
import { thermalDrift } from '../rig/temperature.ts';
import type { Interval } from '../trials/statistics.ts';
import { type CurveLimits, curveLimits } from './curve-limits.ts';
import { type FocusCurve, tabulateFocusCurve } from './focus-curve.ts';
import { batches, type FocusPoints, prepareFocusPoints } from './focus-point.ts';
import {
  type CurveOf,
  costOf,
  type FilterRange,
  type GuideFocusAim,
  searchGuideFocus,
  worstOnTheWay,
} from './guide-focus-search.ts';
import { jackknifeError, jackknifeInterval } from './jackknife.ts';

/** What counts as best, and how precisely it is sought. */
export interface BestGuideFocusOptions extends LongWorkOptions {
  /** Seed of the simulation. */
  readonly seed: string | number;
  /** Default: the rig's. */
  readonly estimator?: EstimatorName;
  /**
   * `worst` (default): the worst filter takes as little of the budget as possible; `mean`: the average over
   * the time of exposure does.
   */
  readonly aim?: GuideFocusAim;
  /** Trials at each shift that is simulated, at most; a multiple of 512 is used. Default 512. */
  readonly trials?: number;
}

/** One filter at a setting. */
export interface FilterShare {
  /** Name of the filter. */
  readonly filter: string;
  /** Its focus shifts over the night, um: the same at both ends without a drift. */
  readonly lowUm: number;
  /** The largest of them, um. */
  readonly highUm: number;
  /** Share of the budget that it spends at the worst of them, 1 = all of it. */
  readonly share: Interval;
}

/** One setting of the guide camera, and how the filters do there. Intervals hold 95 %. */
export interface GuideFocusSetting {
  /** What to set `guideFocusShiftUm` to, um. */
  readonly settingUm: Interval;
  /** From where the rig has it now, um; > 0 = away from the telescope. */
  readonly moveUm: number;
  /** How each filter does there. */
  readonly filters: readonly FilterShare[];
  /** The filter that takes the largest share of the budget. */
  readonly worstFilter: string;
  /** Share of the budget that the worst filter spends, 1 = all of it. */
  readonly worstShare: Interval;
  /** Whether all filters are within the budget. */
  readonly verdict: 'within' | 'outside' | 'too close to call';
  /**
   * How much farther ahead of focus, and beyond it, every filter may yet go, um; < 0 = a filter is over the
   * limit by so much. Undefined when the budget is kept nowhere.
   */
  readonly marginBeforeUm: Interval | undefined;
  /** The same beyond focus, um. */
  readonly marginBeyondUm: Interval | undefined;
  /** Settings at which these filters all stay within the budget, um; undefined when there is none. */
  readonly keepsAllUm: { readonly low: number; readonly high: number } | undefined;
}

/** The setting of the guide camera that suits all filters best. */
export interface BestGuideFocus extends GuideFocusSetting {
  /** Name of the rig. */
  readonly rig: string;
  /** Estimator that measures the star. */
  readonly estimator: EstimatorName;
  /** What counts as best. */
  readonly aim: GuideFocusAim;
  /** Seed of the simulation. */
  readonly seed: string | number;
  /** Simulated frames per focus shift, at most. */
  readonly trials: number;
  /**
   * What is made as small as can be, at the best setting and where the rig has it now: 1 = the whole budget.
   */
  readonly cost: Interval;
  /** The same where the rig has it now. */
  readonly costNow: number;
  /**
   * Focus shifts from the one limit to the other within which the budget is kept, um: the first ahead of
   * focus. Where it is kept as far as was simulated, that far. Undefined when it is kept nowhere.
   */
  readonly limitsUm: { readonly before: Interval; readonly beyond: Interval } | undefined;
  /** What the night adds to each filter's shift, um; 0 without a temperature. */
  readonly driftUm: { readonly low: number; readonly high: number };
  /**
   * Setting for as much of the exposure time as one setting can serve; present when it cannot serve all
   * filters.
   */
  readonly partial?: GuideFocusSetting & { readonly leavesOut: readonly string[] };
  /** The star is the same on both sides of focus. */
  readonly symmetric: boolean;
}

const defaultTrials = 512;
/** The search ends at this resolution; no interval is narrower. */
const resolutionUm = 0.5;

/**
 * The setting of the guide camera's focus that suits all filters best, the night's drift included
 * (`thermalDrift`).
 *
 * The error of the star is simulated once at some shifts and read off a curve for any other; the search on
 * that curve is then free. Intervals tell what chance does to the result: the search is repeated without each
 * eighth of the trials (jackknife, Student's distribution). They do not tell how well the filters' shifts are
 * known.
 *
 * Filters with 0 minutes are left out. Where the filters stand before the pick-off, each filter's star has
 * the light that the filter passes: the error is then simulated for each filter's band.
 *
 * ```ts
 * const { settingUm, marginBeforeUm, marginBeyondUm } = await bestGuideFocus(rig, { seed: 1 })
 * ```
 * @throws the signal's reason when canceled
 */
export async function bestGuideFocus(rig: Rig, options: BestGuideFocusOptions): Promise<BestGuideFocus> {
  const { estimator = rig.tracking.estimator, seed } = requireNames(
    'options',
    options,
    longWorkNames,
    'seed estimator aim trials',
  );
  return bestGuideFocusFrom(prepareFocusPoints(rig, estimator, seed), rig, options);
}

/** {@link bestGuideFocus} of points that others ask for, too. */
export async function bestGuideFocusFrom(
  points: FocusPoints,
  rig: Rig,
  {
    seed,
    estimator = rig.tracking.estimator,
    aim = 'worst',
    trials = defaultTrials,
    ...long
  }: BestGuideFocusOptions,
): Promise<BestGuideFocus> {
  const drift = thermalDrift(rig) ?? { lowUm: 0, highUm: 0 };
  const used = rig.filters.filter(({ minutes }) => minutes !== 0);
  const filters: FilterRange[] = used.map(({ name, focusShiftUm, minutes = 1 }) => ({
    filter: name,
    lowUm: focusShiftUm + drift.lowUm,
    highUm: focusShiftUm + drift.highUm,
    weight: minutes,
  }));
  const lowest = Math.min(...filters.map(({ lowUm }) => lowUm));
  const highest = Math.max(...filters.map(({ highUm }) => highUm));
  // A star that saturates in focus may be better off with every filter on one side.
  const room = 0.5 * (highest - lowest) + fiveRings(rig);
  const now = rig.guideFocusShiftUm;
  const curves = new Map<string, FocusCurve>();
  for (const { filter } of filters) {
    const through = rigThrough(rig, filter);
    const known = [...curves.keys()].find((name) => sameLight(rigThrough(rig, name), through));
    const curve =
      curves.get(known ?? '') ??
      (await tabulateFocusCurve(through, {
        seed,
        estimator,
        points: through === rig ? points : prepareFocusPoints(through, estimator, seed),
        trials,
        fromUm: Math.min(lowest + now, lowest - highest),
        toUm: Math.max(highest + now, highest - lowest),
        ...long,
      }));
    curves.set(filter, curve);
  }
  const work: Work = { curves, aim, now, fromUm: -highest - room, toUm: -lowest + room };
  const all = bestSetting(work, filters);
  const served = all.setting.verdict === 'outside' ? mostServed(work, filters) : undefined;
  const partial = served && bestSetting(work, served).setting;
  const [curve] = curves.values();
  const limits = limitsOfAll(work, filters);
  return {
    ...all.setting,
    rig: rig.name,
    estimator,
    aim,
    seed,
    trials: curve.trials,
    cost: all.cost,
    costNow: costOf(curveOf(work), filters, aim, now),
    limitsUm: limits && { before: limits.before, beyond: limits.beyond },
    driftUm: { low: drift.lowUm, high: drift.highUm },
    ...(served && partial
      ? {
          partial: {
            ...partial,
            leavesOut: filters.filter((each) => !served.includes(each)).map(({ filter }) => filter),
          },
        }
      : {}),
    symmetric: curve.symmetric,
  };
}

function fiveRings({ guideCamera, telescope }: Rig): number {
  const { pixelSizeUm, binning } = guideCamera;
  return (5 * pixelSizeUm * binning * telescope.focalLengthMm) / telescope.apertureMm;
}

/** What every search has in common. */
interface Work {
  /** By the name of the filter; filters that pass the same light share one. */
  readonly curves: ReadonlyMap<string, FocusCurve>;
  readonly aim: GuideFocusAim;
  readonly now: number;
  readonly fromUm: number;
  readonly toUm: number;
}

const sameLight = (a: Rig, b: Rig): boolean =>
  a.guideCamera.wavelengthNm === b.guideCamera.wavelengthNm &&
  a.guideCamera.bandwidthNm === b.guideCamera.bandwidthNm;

const curveFor = ({ curves }: Work, { filter }: FilterRange) => curves.get(filter) as FocusCurve;

/** The curves by all trials, or without a batch of them. */
const curveOf =
  (work: Work, without?: number): CurveOf =>
  (filter) => {
    const curve = curveFor(work, filter);
    return without === undefined ? curve.shareAt : curve.without[without];
  };

/** Where the first of the filters' curves leaves the budget, on either side. */
function limitsOfAll(work: Work, filters: readonly FilterRange[]): CurveLimits | undefined {
  const limits = filters.map((filter) => curveLimits(curveFor(work, filter), resolutionUm));
  return limits.reduce(
    (a, b) =>
      a &&
      b && {
        before: b.before.value > a.before.value ? b.before : a.before,
        beyond: b.beyond.value < a.beyond.value ? b.beyond : a.beyond,
      },
  );
}

function bestSetting(
  work: Work,
  filters: readonly FilterRange[],
): { setting: GuideFocusSetting; cost: Interval } {
  const { aim, now, fromUm, toUm } = work;
  const limits = limitsOfAll(work, filters);
  const whole = curveOf(work);
  const without = Array.from({ length: batches }, (_, batch) => curveOf(work, batch));
  const ends = { fromUm, toUm };
  const costWith = (curves: CurveOf) => (settingUm: number) => costOf(curves, filters, aim, settingUm);
  // Settings whose costs chance cannot tell apart count as equally good.
  const sharpest = searchGuideFocus(costWith(whole), { ...ends, tolerance: 0 });
  const tolerance = jackknifeError(without.map((curves) => costWith(curves)(sharpest.settingUm)));
  const found = searchGuideFocus(costWith(whole), { ...ends, tolerance });
  const settingUm = jackknifeInterval(
    resolutionUm * Math.round(found.settingUm / resolutionUm),
    without.map((curves) => searchGuideFocus(costWith(curves), { ...ends, tolerance }).settingUm),
    resolutionUm,
  );
  const at = settingUm.value;
  const ofShare = (measure: (curves: CurveOf) => number): Interval => {
    const logOf = (curves: CurveOf) => log(measure(curves));
    const { value, low, high } = jackknifeInterval(logOf(whole), without.map(logOf));
    return { value: exp(value), low: exp(low), high: exp(high) };
  };
  const shares = filters.map((filter) => ({
    filter: filter.filter,
    lowUm: filter.lowUm + at,
    highUm: filter.highUm + at,
    share: ofShare((curves) => worstOnTheWay(curves, filter, at)),
  }));
  const worst = shares.reduce((a, b) => (b.share.value > a.share.value ? b : a));
  const lowest = Math.min(...shares.map(({ lowUm }) => lowUm));
  const highest = Math.max(...shares.map(({ highUm }) => highUm));
  const setting: GuideFocusSetting = {
    settingUm,
    moveUm: at - now,
    filters: shares,
    worstFilter: worst.filter,
    worstShare: worst.share,
    verdict: worst.share.high <= 1 ? 'within' : worst.share.low > 1 ? 'outside' : 'too close to call',
    marginBeforeUm: limits && shifted(limits.before, -1, lowest),
    marginBeyondUm: limits && shifted(limits.beyond, 1, -highest),
    keepsAllUm:
      limits &&
      (filters.every((filter) => keepsBetween(curveFor(work, filter), limits))
        ? settingsWithin(limits, lowest - at, highest - at)
        : undefined),
  };
  return { setting, cost: ofShare((curves) => costWith(curves)(at)) };
}

/** The star does not saturate, nor leave the budget otherwise, between the limits. */
const keepsBetween = ({ points, shareAt }: FocusCurve, { before, beyond }: CurveLimits): boolean =>
  points.every(({ focusShiftUm: at }) => at <= before.value || at >= beyond.value || shareAt(at) <= 1);

/** Settings that keep the lowest and the highest shift between the limits; undefined when there are none. */
function settingsWithin(
  { before, beyond }: CurveLimits,
  lowest: number,
  highest: number,
): { low: number; high: number } | undefined {
  const low = before.value - lowest;
  const high = beyond.value - highest;
  return low <= high ? { low, high } : undefined;
}

/**
 * The filters next to one another whose exposure time is the most that one setting keeps within the budget.
 */
function mostServed(work: Work, filters: readonly FilterRange[]): FilterRange[] | undefined {
  const sorted = [...filters].sort((a, b) => a.lowUm - b.lowUm);
  let most: { group: FilterRange[]; time: number; cost: number } | undefined;
  for (let first = 0; first < sorted.length; first++)
    for (let end = first + 1; end <= sorted.length; end++) {
      const group = sorted.slice(first, end);
      const time = group.reduce((sum, { weight }) => sum + weight, 0);
      if (most !== undefined && time < most.time) continue;
      const { cost } = searchGuideFocus((settingUm) => costOf(curveOf(work), group, 'worst', settingUm), {
        ...work,
        tolerance: 0,
      });
      if (cost <= 1 && (most === undefined || time > most.time || cost < most.cost))
        most = { group, time, cost };
    }
  return most?.group;
}

/** factor * interval + offset, its ends in order. */
function shifted({ value, low, high }: Interval, factor: 1 | -1, offset: number): Interval {
  const [a, b] = [factor * low + offset, factor * high + offset];
  return { value: factor * value + offset, low: Math.min(a, b), high: Math.max(a, b) };
}
