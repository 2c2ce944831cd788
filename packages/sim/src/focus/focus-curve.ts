/**
 * The spent share of the budget as a curve over the focus shift: simulated once at some shifts, then read off
 * anywhere.
 */

import { exp, log, monotoneCubic } from '@holdfast/psf/numerics';
import { type LongWorkOptions, pause, resultUntil } from '../long-work.ts';
import { edgeStar } from '../pickoff/edge-star.ts';
import type { EstimatorName, Rig } from '../rig/rig-schema.ts';
import { insideBracket } from './close-bracket.ts';
import {
  batches,
  type FocusPoint,
  type FocusPoints,
  prepareFocusPoints,
  rangeOf,
  ringLadderPx,
  trialsPerBatch,
} from './focus-point.ts';

export interface FocusCurve {
  readonly trials: number;
  /** The star is the same on both sides of focus, and was simulated on one. */
  readonly symmetric: boolean;
  /** In order of the shift, from the lowest tried to the highest. */
  readonly points: readonly FocusPoint[];
  /**
   * Share of the budget spent at any shift, 1 = all of it; beyond the points as the square of the distance.
   */
  readonly shareAt: ShareCurve;
  /** The same from all batches but one. */
  readonly without: readonly ShareCurve[];
}

export type ShareCurve = (focusShiftUm: number) => number;

export interface FocusCurveOptions extends LongWorkOptions {
  readonly seed: string | number;
  readonly estimator: EstimatorName;
  /** Points that others have simulated and may ask for. */
  readonly points?: FocusPoints;
  /** Trials at each shift, at most; a multiple of 512 is used. */
  readonly trials: number;
  /** Shifts for which the curve is wanted, um. */
  readonly fromUm: number;
  readonly toUm: number;
}

/** No question depends on how far beyond this a share lies: there the star is not simulated. */
export const farOutside = 10;

/**
 * Simulate the guide star from focus outwards, on both sides where they differ: to the shifts that are wanted
 * and at least until the budget is spent, but no farther once it is spent many times over. The same random
 * numbers serve every shift.
 *
 * @throws the signal's reason when canceled
 */
export async function tabulateFocusCurve(
  rig: Rig,
  { seed, estimator, points: known, trials: wanted, fromUm, toUm, onProgress, signal }: FocusCurveOptions,
): Promise<FocusCurve> {
  const perBatch = trialsPerBatch(wanted);
  const simulate = known ?? prepareFocusPoints(rig, estimator, seed);
  const { umPerPx, largestUm } = rangeOf(rig);
  let done = 0;
  const pointAt = async (focusShiftUm: number): Promise<FocusPoint> => {
    await pause(signal);
    const point = await resultUntil(simulate.at(focusShiftUm, perBatch), signal);
    onProgress?.({ task: 'error against focus', done: ++done, total: Math.max(done, 14) });
    return point;
  };
  /** From focus outwards on one side; distances ascend. */
  const side = async (sign: 1 | -1, reachUm: number): Promise<FocusPoint[]> => {
    const points: FocusPoint[] = [];
    for (const ringPx of ringLadderPx(largestUm / umPerPx)) {
      const distance = ringPx * umPerPx;
      const point = await pointAt(sign * distance);
      points.push(point);
      const { share } = point.share;
      if ((distance >= reachUm && share > 1) || share > farOutside) break;
    }
    // Nothing asks for more than the place where the budget is spent: what is known there, or one more point.
    const outside = points.findIndex(({ share: { share } }) => share > 1);
    if (outside > 0) {
      const ends = [points[outside - 1], points[outside]];
      const [near, far] = ends.map(({ focusShiftUm, share: { share } }) => ({
        distanceUm: Math.abs(focusShiftUm),
        ratio: share,
      }));
      const [low, high] = ends.map(({ focusShiftUm }) => focusShiftUm).sort((a, b) => a - b);
      const found = simulate.between(low, high);
      if (sign < 0) found.reverse();
      if (found.length === 0) found.push(await pointAt(sign * insideBracket(near, far, 0)));
      points.splice(outside, 0, ...found);
    }
    return points;
  };
  const inFocus = await pointAt(0);
  const symmetric = edgeStar(rig).isSymmetric;
  const beyond = await side(1, symmetric ? Math.max(Math.abs(fromUm), Math.abs(toUm)) : Math.max(0, toUm));
  const before = symmetric
    ? beyond.map((point) => ({ ...point, focusShiftUm: -point.focusShiftUm }))
    : await side(-1, Math.max(0, -fromUm));
  const points = [...before.reverse(), inFocus, ...beyond];
  return {
    trials: Math.max(...points.map((point) => point.trials)),
    symmetric,
    points,
    ...curvesThrough(points),
  };
}

/**
 * The spent share of the budget anywhere between simulated shifts, by all trials and without each batch of
 * them.
 */
export function curvesThrough(points: readonly FocusPoint[]): Pick<FocusCurve, 'shareAt' | 'without'> {
  return {
    shareAt: curveThrough(points, ({ share }) => share.share),
    without: Array.from({ length: batches }, (_, batch) =>
      curveThrough(points, ({ without }) => without[batch]),
    ),
  };
}

/** Below this a share is as good as none. */
const leastShare = 1e-6;

/**
 * Through the logarithm of the share: what chance does to a share far outside then does not spoil its
 * neighbors. Beyond the last point as the square of the distance, as noise grows: an exponential would tell
 * of shares that nothing has.
 */
function curveThrough(points: readonly FocusPoint[], shareOf: (point: FocusPoint) => number): ShareCurve {
  const curve = monotoneCubic(
    Float64Array.from(points, ({ focusShiftUm }) => focusShiftUm),
    Float64Array.from(points, (point) => log(Math.max(leastShare, shareOf(point)))),
  );
  const first = points[0].focusShiftUm;
  const last = points[points.length - 1].focusShiftUm;
  return (focusShiftUm) => {
    const end = Math.min(last, Math.max(first, focusShiftUm));
    const beyond = end === focusShiftUm || end === 0 ? 1 : (focusShiftUm / end) ** 2;
    return beyond * exp(curve(end));
  };
}
