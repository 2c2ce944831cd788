/**
 * The error of a star's position by formula, in the form that simulated errors have: no trials, no standard
 * error.
 */

import type { SceneDescription } from '@holdfast/sim';
import {
  type Assessment,
  buildScene,
  type EstimatorName,
  imageGrowth,
  type PositionError,
  type Rig,
  type Scene,
  type SceneSetting,
} from '@holdfast/sim';
import { analyticErrorPx, budgetShare, measuredOf } from '@holdfast/sim/internal';

/** How many frames would be lost, no formula says. */
const unknownFraction = { value: 0, low: 0, high: 1 } as const;

const exactly = (value: number) => ({ value, standardError: 0 });

export function formulaError(
  scene: Scene,
  estimator: EstimatorName,
  noisePx: number | undefined,
  boundPx: number | undefined,
): PositionError {
  const noise = exactly(noisePx ?? scene.blurFwhmPx);
  const { windowPx, windowToHoldPx, motionPx } = scene;
  return {
    estimator,
    trials: 0,
    located: 0,
    lostFraction: unknownFraction,
    lostReasons: {},
    saturatedFraction: unknownFraction,
    windowPx,
    windowToHoldPx,
    displacementPx: motionPx,
    followsStar: noisePx !== undefined,
    // Not asked for, it is taken to be the error itself: it would take most of the time.
    boundPx: boundPx ?? noise.value,
    ...(noisePx === undefined
      ? {}
      : {
          responseX: exactly(1),
          responseY: exactly(1),
          noiseEquivalentXPx: noise,
          noiseEquivalentYPx: noise,
          noiseEquivalentPx: noise,
          noiseEquivalentArcsec: exactly(noisePx * scene.arcsecPerPx),
          boundRatio: exactly(noisePx / (boundPx ?? noisePx)),
        }),
  };
}

/** How a star stands by formula. */
export function formulaAssessment(rig: Rig, setting: SceneSetting, estimator: EstimatorName): Assessment {
  const scene = buildScene(rig, setting);
  const error = formulaError(scene, estimator, analyticErrorPx(scene, estimator), undefined);
  return likelyAssessment(rig, numbersOf(scene, setting), error);
}

/** Against the budget by the value alone, without its interval. */
export function likelyAssessment(rig: Rig, scene: SceneDescription, error: PositionError): Assessment {
  const measured = measuredOf(error, scene.arcsecPerPx);
  const growth = measured.guide && imageGrowth(rig, measured.guide, { exposureS: scene.exposureS });
  if (growth === undefined) return { scene, error, verdict: 'outside' };
  const isWithin = budgetShare(rig, measured, { exposureS: scene.exposureS }).share <= 1;
  return { scene, error, growth, verdict: isWithin ? 'within' : 'outside' };
}

/** Plain numbers of the scene, without what cannot be sent or is not asked for. */
export function numbersOf(scene: Scene, setting: SceneSetting): SceneDescription {
  const { shape: _, camera: __, setting: ___, star, ...numbers } = scene;
  const clipDistance = star.pupil.clip?.distance ?? 1;
  return { ...numbers, focusShiftUm: setting.focusShiftUm, offAxisMm: star.offAxisMm, clipDistance };
}
