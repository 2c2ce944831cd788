/**
 * The star at one focus shift, by trials in batches: what the budget says of all of them, and of all but one
 * batch.
 */
import { type BudgetShare, budgetShare, measuredOf } from '../budget/budget-share.ts';
import { methodDriftArcsec } from '../budget/offset-drift.ts';
import type { Rig } from '../rig/rig-schema.ts';
import { type EstimatorSetting, methodOf } from '../trials/estimators.ts';
import { measureInBatches } from '../trials/measure-error.ts';
import type { AnyEstimator } from '../trials/own-estimator.ts';
import type { PositionError } from '../trials/position-error.ts';
import { buildScene, type SceneSetting } from '../trials/scene.ts';
import { roundSize } from '../trials/simulated-frames.ts';

/**
 * Trials are kept apart in so many batches, each with its own stars over the pixel, to tell what chance does.
 */
export const batches = 8;

/** 97.5 % point of Student's distribution with batches - 1 = 7 degrees of freedom (textbook table). */
export const students95 = 2.3646;

/** Largest ring that is simulated, px: frames beyond are slow and their stars long lost. */
const largestRingPx = 300;

/** A focus shift that was simulated. */
export interface FocusPoint {
  readonly focusShiftUm: number;
  /** By all batches. */
  readonly share: BudgetShare;
  /** Share without each batch in turn. */
  readonly without: readonly number[];
  /** Most frames have a saturated pixel. */
  readonly saturated: boolean;
  /** Simulated frames. */
  readonly trials: number;
}

/** Trials of a batch for so many wanted in all: a multiple of 64. */
export function trialsPerBatch(wanted: number): number {
  return Math.max(roundSize, Math.ceil(wanted / batches / roundSize) * roundSize);
}

function* simulatePoint(
  rig: Rig,
  setting: SceneSetting,
  estimator: EstimatorSetting<AnyEstimator>,
  seed: string | number,
  perBatch: number,
): Generator<void, FocusPoint> {
  const scene = buildScene(rig, setting);
  const { all, without } = yield* measureInBatches(scene, estimator, seed, perBatch, batches);
  const drift = methodDriftArcsec(rig, setting, estimator);
  const shareOf = (error: PositionError<string>) =>
    budgetShare(rig, measuredOf(error, scene.arcsecPerPx, drift), { exposureS: scene.exposureS });
  return {
    focusShiftUm: setting.focusShiftUm,
    share: shareOf(all),
    without: without.map((error) => shareOf(error).share),
    saturated: all.saturatedFraction.value > 0.5,
    trials: all.trials,
  };
}

/** The star of a rig at distances from focus; what was simulated once is remembered. */
export interface FocusPoints {
  /** The star at a shift, with so many trials per batch; in steps of a few trials. */
  at(focusShiftUm: number, perBatch: number): Generator<void, FocusPoint>;
  /** What was simulated between two shifts, in order of the shift, each by the most trials. */
  between(fromUm: number, toUm: number): FocusPoint[];
}

/** The focus limit and the best guide focus ask for the same shifts. */
export function prepareFocusPoints(
  rig: Rig,
  estimator: AnyEstimator,
  seed: string | number,
  setting: Omit<SceneSetting, 'focusShiftUm'> = {},
): FocusPoints {
  const method = methodOf(rig, estimator);
  const known = new Map<string, FocusPoint>();
  const best = new Map<number, { perBatch: number; point: FocusPoint }>();
  return {
    *at(focusShiftUm, perBatch) {
      const key = `${focusShiftUm}/${perBatch}`;
      let point = known.get(key);
      if (point === undefined) {
        point = yield* simulatePoint(rig, { ...setting, focusShiftUm }, method, seed, perBatch);
        known.set(key, point);
        if (perBatch > (best.get(focusShiftUm)?.perBatch ?? 0)) best.set(focusShiftUm, { perBatch, point });
      }
      return point;
    },
    between: (fromUm, toUm) =>
      [...best.values()]
        .map(({ point }) => point)
        .filter(({ focusShiftUm }) => focusShiftUm > fromUm && focusShiftUm < toUm)
        .sort((a, b) => a.focusShiftUm - b.focusShiftUm),
  };
}

/**
 * First ring beside the focus, px, and the ratio from one to the next: between them a curve is within 3 % of
 * the share (measured).
 */
const firstRingPx = 3;
const ratio = 1.6;

/** Distances from focus at which the star is simulated first, in px of ring diameter, from the nearest on. */
export function ringLadderPx(mostPx: number): number[] {
  const rings: number[] = [];
  for (let ring = firstRingPx; ring < mostPx; ring *= ratio) rings.push(ring);
  return [...rings, mostPx];
}

/** Focus shift for a pixel of ring diameter, and the largest shift that is simulated, um. */
export function rangeOf(
  rig: Rig,
  setting: Omit<SceneSetting, 'focusShiftUm'> = {},
): { umPerPx: number; largestUm: number } {
  const { telescope, guideCamera } = rig;
  const binning = setting.binning ?? guideCamera.binning;
  const pixelUm = (setting.pixelSizeUm ?? guideCamera.pixelSizeUm) * binning;
  const umPerPx = (pixelUm * telescope.focalLengthMm) / telescope.apertureMm;
  const sensorPx = Math.min(guideCamera.widthPx, guideCamera.heightPx) / binning;
  return { umPerPx, largestUm: Math.min(largestRingPx, sensorPx / 2) * umPerPx };
}
