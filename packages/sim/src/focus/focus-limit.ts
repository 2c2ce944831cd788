/** How far the guide camera may be out of focus before the budget is spent. */

import { requireNames } from '@holdfast/psf/numerics';
import type { BudgetTerm } from '../budget/budget-share.ts';
import { type LongWorkOptions, longWorkNames, pause, resultUntil } from '../long-work.ts';
import { starAtEdge } from '../pickoff/edge-star.ts';
import type { EstimatorName, Rig } from '../rig/rig-schema.ts';
import { analyticErrorPx } from '../trials/analytic-error.ts';
import { leastError } from '../trials/least-error.ts';
import { type AnyEstimator, type NameOf, nameOf } from '../trials/own-estimator.ts';
import { buildScene, type Scene, type SceneSetting } from '../trials/scene.ts';
import type { Interval } from '../trials/statistics.ts';
import {
  type FocusPoint,
  type FocusPoints,
  prepareFocusPoints,
  rangeOf,
  ringLadderPx,
  trialsPerBatch,
} from './focus-point.ts';
import { formulaLimitUm as formulaLimitOf } from './formula-limit.ts';
import { type LimitFound, searchLimit } from './limit-search.ts';

/** For which star and how precisely the limit is sought. */
export interface FocusLimitOptions<Estimator extends AnyEstimator = EstimatorName> extends LongWorkOptions {
  /** Seed of the simulation. */
  readonly seed: string | number;
  /** One of ours by name, or your own. Default: the rig's. */
  readonly estimator?: Estimator;
  /**
   * The limit is sought as precisely as by so many trials at each shift with chance left in; at most so many
   * are run, at least 256. Default 1024.
   */
  readonly trials?: number;
  /** What else differs from the rig, as the flux of a measured star. */
  readonly setting?: Omit<SceneSetting, 'focusShiftUm'>;
}

/** What ends the range of usable focus shifts. */
export type LimitedBy =
  | BudgetTerm
  /** the ring outgrows the sensor, or the largest ring that is simulated */
  | 'ring-size'
  /** outside the budget even in focus: refocusing does not help */
  | 'out-of-budget-in-focus';

/** The limit on one side of focus. */
export interface SideLimit {
  /** Largest distance from focus within the budget, um, by simulation, with 95 % interval. */
  readonly limitUm: Interval;
  /** What ends the range. */
  readonly limitedBy: LimitedBy;
}

/** How far out of focus the star stays usable. */
export interface FocusLimit<Name extends string = EstimatorName> extends SideLimit {
  /** Estimator that measures the star. */
  readonly estimator: Name;
  /**
   * The nearer limit of both sides as outer diameter of the ring, px. `limitUm` and `limitedBy` are of that
   * side, too.
   */
  readonly ringDiameterPx: Interval;
  /**
   * Sensor ahead of best focus, and beyond it. A ring on the axis is the same on both sides, and is simulated
   * once.
   */
  readonly before: SideLimit;
  /** The same beyond best focus. */
  readonly beyond: SideLimit;
  /** Side of the square that is measured, px, and the side that would hold the ring at the limit. */
  readonly windowPx: number;
  /** Side of the square that would hold the ring at the limit, px. */
  readonly windowToHoldPx: number;
  /** Whether the rig says the window; if not, it is matched to the largest ring of its filters. */
  readonly windowFrom: 'rig' | 'filters';
  /**
   * Present when the star saturates: the largest distance tried at which most frames have a saturated pixel,
   * um.
   */
  readonly saturatedUm?: number;
  /**
   * The limit by formula, um: first-order error of the estimator on the noiseless frame, blind to lost
   * frames.
   */
  readonly formulaLimitUm: number;
  /**
   * Limit were the star measured with the least possible error, um, by formula: no estimator can go beyond
   * it.
   */
  readonly leastErrorLimitUm: number;
  /** Simulated frames per focus shift, at most. */
  readonly trialsPerShift: number;
  /** Focus shifts that were simulated. */
  readonly shiftsTried: number;
}

/**
 * Largest focus shift, on either side of focus, at which every term of the rig's budget is kept: growth of
 * the picture's stars, lost fraction, and the position error where the budget names one. Root search on
 * simulated frames; the same random numbers serve every shift, so that the spent share of the budget is a
 * smooth function of the shift.
 *
 * ```ts
 * const { limitUm, limitedBy, formulaLimitUm } = await focusLimit(rig, { seed: 1 })
 * ```
 * @throws the signal's reason when canceled
 */
export async function focusLimit<Estimator extends AnyEstimator = EstimatorName>(
  rig: Rig,
  options: FocusLimitOptions<Estimator>,
): Promise<FocusLimit<NameOf<Estimator>>> {
  const {
    estimator = rig.tracking.estimator as Estimator,
    seed,
    setting = {},
  } = requireNames('options', options, longWorkNames, 'seed estimator trials setting');
  return focusLimitFrom(prepareFocusPoints(rig, estimator, seed, setting), rig, options);
}

/** {@link focusLimit} of points that others ask for, too. */
export async function focusLimitFrom<Estimator extends AnyEstimator = EstimatorName>(
  points: FocusPoints,
  rig: Rig,
  {
    estimator = rig.tracking.estimator as Estimator,
    trials = 1024,
    setting = {},
    onProgress,
    signal,
  }: FocusLimitOptions<Estimator>,
): Promise<FocusLimit<NameOf<Estimator>>> {
  const { umPerPx, largestUm } = rangeOf(rig, setting);
  const formulaLimit = (errorPx: (scene: Scene) => number | undefined, guessUm: number) =>
    formulaLimitOf(rig, errorPx, setting, guessUm);
  const formulaLimitUm = formulaLimit((scene) => analyticErrorPx(scene, estimator), 10 * umPerPx);
  const perBatch = trialsPerBatch(trials);
  const onTheWay = trialsPerBatch(trials / 2);
  const ladderUm = ringLadderPx(largestUm / umPerPx).map((ringPx) => ringPx * umPerPx);
  let done = 0;
  const searchSide = (sign: 1 | -1) =>
    searchLimit({
      firstGuessUm: Math.max(formulaLimitUm, 4 * umPerPx),
      ladderUm,
      pointAt: async (distanceUm, isNear) => {
        await pause(signal);
        const steps = points.at(sign * distanceUm, isNear ? perBatch : onTheWay);
        const point = await resultUntil(steps, signal);
        onProgress?.({ task: 'focus limit', done: ++done, total: Math.max(done, 8) });
        return point;
      },
    });

  const beyondSearch = await searchSide(1);
  const beyond = sideOf(beyondSearch.found, largestUm);
  // What an own star looks like on the other side of focus, nobody else knows.
  const symmetric = setting.ownStar === undefined && starAtEdge(rig, setting).isSymmetric;
  const beforeSearch = symmetric ? undefined : await searchSide(-1);
  const before = beforeSearch === undefined ? beyond : sideOf(beforeSearch.found, largestUm);
  const tried = [...beyondSearch.tried, ...(beforeSearch?.tried ?? [])];
  const nearer = before.limitUm.value < beyond.limitUm.value ? before : beyond;
  const { value, low, high } = nearer.limitUm;
  const atLimit = buildScene(rig, { ...setting, focusShiftUm: nearer === before ? -value : value });
  return {
    estimator: nameOf(estimator),
    ...nearer,
    ringDiameterPx: { value: value / umPerPx, low: low / umPerPx, high: high / umPerPx },
    before,
    beyond,
    windowPx: atLimit.windowPx,
    windowToHoldPx: atLimit.windowToHoldPx,
    windowFrom: rig.tracking.windowPx === undefined ? 'filters' : 'rig',
    ...saturatedUpTo(tried),
    formulaLimitUm,
    leastErrorLimitUm: formulaLimit(leastError, Math.max(value, 10 * umPerPx)),
    trialsPerShift: Math.max(...tried.map((point) => point.trials)),
    shiftsTried: tried.length,
  };
}

function sideOf(found: LimitFound, largestUm: number): SideLimit {
  switch (found.kind) {
    case 'limit':
      return { limitUm: found.limitUm, limitedBy: found.limitedBy };
    case 'beyond-range':
      return { limitUm: { value: largestUm, low: largestUm, high: largestUm }, limitedBy: 'ring-size' };
    case 'spent-in-focus':
      return { limitUm: { value: 0, low: 0, high: 0 }, limitedBy: 'out-of-budget-in-focus' };
  }
}

function saturatedUpTo(tried: readonly FocusPoint[]): { saturatedUm?: number } {
  const distances = tried.filter(({ saturated }) => saturated).map(({ focusShiftUm }) => focusShiftUm);
  return distances.length > 0 ? { saturatedUm: Math.max(...distances) } : {};
}
