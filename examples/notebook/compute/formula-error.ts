/** The error of a star's position by formula, in the form that simulated errors have: no trials, no standard error. */

import type { SceneDescription } from '@holdfast/sim';
import {
  buildScene,
  type EstimatorName,
  imageGrowth,
  type PositionError,
  type Rig,
  type Scene,
  type SceneSetting,
  type Standing,
} from '@holdfast/sim';
import { analyticErrorPx } from '@holdfast/sim/internal';

/** How many frames would be lost, no formula says. */
const unknownFraction = { value: 0, low: 0, high: 1 } as const;

const exactly = (value: number) => ({ value, standardError: 0 });

export function formulaError(
  scene: Scene,
  estimator: EstimatorName,
  rmsPx: number | undefined,
  boundPx: number | undefined,
): PositionError {
  const rms = rmsPx ?? scene.blurFwhmPx;
  return {
    estimator,
    trials: 0,
    located: 0,
    lostFraction: unknownFraction,
    lostReasons: {},
    // Not asked for, it is taken to be the error itself: it would take most of the time.
    boundPx: boundPx ?? rms,
    ...(rmsPx === undefined
      ? {}
      : {
          rmsPx: exactly(rmsPx),
          rmsArcsec: exactly(rmsPx * scene.arcsecPerPx),
          boundRatio: exactly(rmsPx / (boundPx ?? rms)),
        }),
  };
}

/** How a star stands by formula. */
export function formulaStanding(rig: Rig, setting: SceneSetting, estimator: EstimatorName): Standing {
  const scene = buildScene(rig, setting);
  const rmsPx = analyticErrorPx(scene, estimator);
  const error = formulaError(scene, estimator, rmsPx, undefined);
  return likelyStanding(rig, numbersOf(scene, setting), error);
}

/** Against the budget by the value alone, without its interval. */
export function likelyStanding(rig: Rig, scene: SceneDescription, error: PositionError): Standing {
  if (error.rmsArcsec === undefined) return { scene, error, verdict: 'outside' };
  const growth = imageGrowth(rig, error.rmsArcsec);
  const { fwhmGrowthPercent, lostFractionPercent, rmsErrorArcsec = Infinity } = rig.budget;
  const isWithin =
    growth.growthPercent.value <= fwhmGrowthPercent &&
    100 * error.lostFraction.value <= lostFractionPercent &&
    error.rmsArcsec.value <= rmsErrorArcsec;
  return { scene, error, growth, verdict: isWithin ? 'within' : 'outside' };
}

/** Plain numbers of the scene, without what cannot be sent or is not asked for. */
export function numbersOf(scene: Scene, setting: SceneSetting): SceneDescription {
  const { shape: _, camera: __, setting: ___, star, ...numbers } = scene;
  const clipDistance = star.pupil.clip?.distance ?? 1;
  return { ...numbers, focusShiftUm: setting.focusShiftUm, offAxisMm: star.offAxisMm, clipDistance };
}
