/** The spent share of the budget as a curve over the focus shift: simulated once at some shifts, then read off anywhere. */

import { monotoneCubic } from '@holdfast/psf/numerics';
import { type LongWorkOptions, pause } from '../long-work.ts';
import { edgeStar } from '../pickoff/edge-star.ts';
import type { EstimatorName, Rig } from '../rig/rig-schema.ts';
import { type EstimatorSetting, settingOf } from '../trials/estimators.ts';
import { batches, type FocusPoint, rangeOf, simulatePoint, trialsPerBatch } from './focus-point.ts';

export interface FocusCurve {
  readonly estimator: EstimatorSetting;
  readonly trials: number;
  /** The star is the same on both sides of focus, and was simulated on one. */
  readonly symmetric: boolean;
  /** In order of the shift, from the lowest tried to the highest. */
  readonly points: readonly FocusPoint[];
  /** Share of the budget spent at any shift, 1 = all of it; beyond the points by the slope at the end. */
  readonly shareAt: ShareCurve;
  /** The same from all batches but one. */
  readonly without: readonly ShareCurve[];
}

export type ShareCurve = (focusShiftUm: number) => number;

export interface FocusCurveOptions extends LongWorkOptions {
  readonly seed: string | number;
  readonly estimator: EstimatorName | EstimatorSetting;
  /** Trials at each shift; a multiple of 512 is used. */
  readonly trials: number;
  /** Shifts for which the curve is wanted, um. */
  readonly fromUm: number;
  readonly toUm: number;
}

/** First ring beside the focus, px, and the ratio from one to the next: the share is smooth between them. */
const firstRingPx = 2;
const ratio = 1.35;
/** No question depends on how far beyond this a share lies. */
const farOutside = 25;

/**
 * Simulate the guide star from focus outwards, on both sides where they differ: to the shifts that are wanted and at least
 * until the budget is spent, but no farther once it is spent many times over. The same random numbers serve every shift.
 *
 * @throws the signal's reason when cancelled
 */
export async function tabulateFocusCurve(
  rig: Rig,
  { seed, estimator, trials: wanted, fromUm, toUm, onProgress, signal }: FocusCurveOptions,
): Promise<FocusCurve> {
  const perBatch = trialsPerBatch(wanted);
  const setting = settingOf(estimator);
  const { umPerPx, largestUm } = rangeOf(rig);
  let done = 0;
  const pointAt = async (focusShiftUm: number): Promise<FocusPoint> => {
    await pause(signal);
    const point = simulatePoint(rig, { focusShiftUm }, setting, seed, perBatch);
    onProgress?.({ task: 'error against focus', done: ++done, total: Math.max(done, 14) });
    return point;
  };
  /** From focus outwards on one side; distances ascend. */
  const side = async (sign: 1 | -1, reachUm: number): Promise<FocusPoint[]> => {
    const points: FocusPoint[] = [];
    for (let distance = firstRingPx * umPerPx; ; distance *= ratio) {
      const point = await pointAt(sign * Math.min(distance, largestUm));
      points.push(point);
      const { share } = point.share;
      const isAnswered = distance >= reachUm && share > 1;
      if (isAnswered || distance >= largestUm || share > farOutside) return points;
    }
  };
  const inFocus = await pointAt(0);
  const symmetric = edgeStar(rig).isSymmetric;
  const beyond = await side(1, symmetric ? Math.max(Math.abs(fromUm), Math.abs(toUm)) : Math.max(0, toUm));
  const before = symmetric
    ? beyond.map((point) => ({ ...point, focusShiftUm: -point.focusShiftUm }))
    : await side(-1, Math.max(0, -fromUm));
  const points = [...before.reverse(), inFocus, ...beyond];
  return {
    estimator: setting,
    trials: perBatch * batches,
    symmetric,
    points,
    ...curvesThrough(points),
  };
}

/** The spent share of the budget anywhere between simulated shifts, by all trials and without each batch of them. */
export function curvesThrough(points: readonly FocusPoint[]): Pick<FocusCurve, 'shareAt' | 'without'> {
  return {
    shareAt: curveThrough(points, ({ share }) => share.share),
    without: Array.from({ length: batches }, (_, batch) =>
      curveThrough(points, ({ without }) => without[batch]),
    ),
  };
}

/** The root of the share is nearly a straight line in the shift where the share itself is bent. */
function curveThrough(points: readonly FocusPoint[], shareOf: (point: FocusPoint) => number): ShareCurve {
  const root = monotoneCubic(
    Float64Array.from(points, ({ focusShiftUm }) => focusShiftUm),
    Float64Array.from(points, (point) => Math.sqrt(Math.max(0, shareOf(point)))),
  );
  return (focusShiftUm) => Math.max(0, root(focusShiftUm)) ** 2;
}
