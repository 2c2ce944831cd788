/** The spent share of the budget as a curve over the focus shift: simulated once at some shifts, then read off anywhere. */

import { monotoneCubic } from '@holdfast/psf/numerics';
import { imageGrowth } from '../budget/budget.ts';
import { type LongWorkOptions, pause } from '../long-work.ts';
import { edgeStar } from '../pickoff/edge-star.ts';
import type { EstimatorName, Rig } from '../rig/rig-schema.ts';
import { type EstimatorSetting, prepareEstimator, settingOf } from '../trials/estimators.ts';
import { buildScene, type Scene } from '../trials/scene.ts';
import { simulateFrames, stratum } from '../trials/simulated-frames.ts';

/** Trials are kept apart in so many batches, each with its own stars over the pixel, to tell what chance does. */
export const batches = 8;

/** 97.5 % point of Student's distribution with batches - 1 = 7 degrees of freedom (textbook table). */
export const students95 = 2.3646;

/** What the trials at one focus shift came to, batch by batch. */
export interface CurvePoint {
  readonly focusShiftUm: number;
  readonly trials: number;
  /** Located trials, and the sum of their squared errors (mean of both axes), arcsec^2. */
  readonly located: Float64Array;
  readonly squares: Float64Array;
  /** Most trials were lost to saturation. */
  readonly saturated: boolean;
}

export interface FocusCurve {
  readonly estimator: EstimatorSetting;
  readonly trials: number;
  /** The star is the same on both sides of focus, and was simulated on one. */
  readonly symmetric: boolean;
  /** In order of the shift, from the lowest tried to the highest. */
  readonly points: readonly CurvePoint[];
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

/** Rings beyond this are not simulated. */
const largestRingPx = 300;
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
  const perBatch = Math.max(stratum, Math.ceil(wanted / batches / stratum) * stratum);
  const setting = settingOf(estimator);
  const { telescope, guideCamera } = rig;
  const umPerPx =
    (guideCamera.pixelSizeUm * guideCamera.binning * telescope.focalLengthMm) / telescope.apertureMm;
  const sensorPx = Math.min(guideCamera.widthPx, guideCamera.heightPx) / guideCamera.binning;
  const largestUm = Math.min(largestRingPx, sensorPx / 2) * umPerPx;
  let done = 0;
  const pointAt = async (focusShiftUm: number): Promise<CurvePoint> => {
    await pause(signal);
    const scene = buildScene(rig, { focusShiftUm });
    const point = simulatePoint(scene, setting, seed, perBatch);
    onProgress?.({ task: 'error against focus', done: ++done, total: Math.max(done, 14) });
    return point;
  };
  /** From focus outwards on one side; distances ascend. */
  const side = async (sign: 1 | -1, reachUm: number): Promise<CurvePoint[]> => {
    const points: CurvePoint[] = [];
    for (let distance = firstRingPx * umPerPx; ; distance *= ratio) {
      const point = await pointAt(sign * Math.min(distance, largestUm));
      points.push(point);
      const share = shareOf(rig, point);
      const isAnswered = distance >= reachUm && share > 1 && !point.saturated;
      if (isAnswered || distance >= largestUm || (share > farOutside && !point.saturated)) return points;
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
    shareAt: curveThrough(rig, points),
    without: Array.from({ length: batches }, (_, batch) => curveThrough(rig, points, batch)),
  };
}

function simulatePoint(
  scene: Scene,
  setting: EstimatorSetting,
  seed: string | number,
  perBatch: number,
): CurvePoint {
  const frames = simulateFrames(scene, seed);
  const measure = prepareEstimator(setting, scene, frames.backgroundSigma, { predictsError: false });
  const located = new Float64Array(batches);
  const squares = new Float64Array(batches);
  let saturated = 0;
  for (let batch = 0, trial = 0; batch < batches; batch++)
    for (let i = 0; i < perBatch; i++, trial++) {
      const { pixels, background, x, y } = frames.frame(trial);
      const found = measure(pixels, background);
      if (found.ok) {
        located[batch]++;
        squares[batch] += 0.5 * ((found.x - x) ** 2 + (found.y - y) ** 2) * scene.arcsecPerPx ** 2;
      } else if (found.reason === 'saturated') saturated++;
    }
  const trials = perBatch * batches;
  return {
    focusShiftUm: scene.setting.focusShiftUm,
    trials,
    located,
    squares,
    saturated: 2 * saturated > trials,
  };
}

/** Largest share among the terms of the budget, from all batches or all but one. */
function shareOf(rig: Rig, { trials, located, squares }: CurvePoint, without?: number): number {
  let found = 0;
  let sum = 0;
  for (let batch = 0; batch < batches; batch++) {
    if (batch === without) continue;
    found += located[batch];
    sum += squares[batch];
  }
  const tried = without === undefined ? trials : trials - trials / batches;
  const { fwhmGrowthPercent, lostFractionPercent, rmsErrorArcsec = Infinity } = rig.budget;
  const lost = (100 * (tried - found)) / tried / lostFractionPercent;
  if (found === 0) return lost;
  const rmsArcsec = Math.sqrt(sum / found);
  const growth = imageGrowth(rig, { value: rmsArcsec, standardError: 0 }).growthPercent.value;
  return Math.max(lost, growth / fwhmGrowthPercent, rmsArcsec / rmsErrorArcsec);
}

/** The root of the share is nearly a straight line in the shift where the share itself is bent. */
function curveThrough(rig: Rig, points: readonly CurvePoint[], without?: number): ShareCurve {
  const root = monotoneCubic(
    Float64Array.from(points, ({ focusShiftUm }) => focusShiftUm),
    Float64Array.from(points, (point) => Math.sqrt(shareOf(rig, point, without))),
  );
  return (focusShiftUm) => Math.max(0, root(focusShiftUm)) ** 2;
}
