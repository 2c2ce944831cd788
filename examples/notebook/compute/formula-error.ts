/** The error of a star's position by formula, in the form that simulated errors have: no trials, no standard error. */
import {
  analyticErrorPx,
  buildScene,
  type EstimatorName,
  imageGrowth,
  type PositionError,
  type Rig,
  type Scene,
  type SceneSetting,
  type Standing,
} from '@holdfast/sim';

/** How many frames would be lost, no formula says. */
const unknownFraction = { value: 0, low: 0, high: 1 } as const;

const exactly = (value: number) => ({ value, standardError: 0 });

export function formulaError(
  scene: Scene,
  estimator: EstimatorName,
  rmsPx: number | undefined,
  boundPx: number,
): PositionError {
  return {
    estimator,
    trials: 0,
    located: 0,
    lostFraction: unknownFraction,
    lostReasons: {},
    boundPx,
    ...(rmsPx === undefined
      ? {}
      : {
          rmsPx: exactly(rmsPx),
          rmsArcsec: exactly(rmsPx * scene.arcsecPerPx),
          boundRatio: exactly(rmsPx / boundPx),
        }),
  };
}

/** How a star stands by formula. Its bound is not asked for here, and taken to be the error itself: it saves most of the time. */
export function formulaStanding(rig: Rig, setting: SceneSetting, estimator: EstimatorName): Standing {
  const scene = buildScene(rig, setting);
  const rmsPx = analyticErrorPx(scene, estimator);
  const error = formulaError(scene, estimator, rmsPx, rmsPx ?? scene.blurFwhmPx);
  const description = { ...scene, focusShiftUm: setting.focusShiftUm };
  if (error.rmsArcsec === undefined) return { scene: description, error, verdict: 'outside' };
  const growth = imageGrowth(rig, error.rmsArcsec);
  const isWithin =
    growth.growthPercent.value <= rig.budget.fwhmGrowthPercent &&
    error.rmsArcsec.value <= (rig.budget.rmsErrorArcsec ?? Infinity);
  return { scene: description, error, growth, verdict: isWithin ? 'within' : 'outside' };
}
