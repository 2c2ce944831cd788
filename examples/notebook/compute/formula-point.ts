/** One scene by formula: the error of each way of measuring, and the least possible one. */
import {
  analyticErrorPx,
  buildScene,
  type EstimatorName,
  leastError,
  type PositionError,
  type Rig,
  type Scene,
  type SceneDescription,
  type SceneSetting,
} from '@holdfast/sim';
import { formulaError } from './formula-error.ts';

export interface FormulaPoint {
  readonly scene: SceneDescription;
  /** px */
  readonly boundPx: number;
  /** In the order of the estimators asked for. */
  readonly errors: readonly PositionError[];
}

export function formulaPoint(
  rig: Rig,
  setting: SceneSetting,
  estimators: readonly EstimatorName[],
): FormulaPoint {
  const scene = buildScene(rig, setting);
  const boundPx = leastError(scene);
  const errors = estimators.map((name) => formulaError(scene, name, analyticErrorPx(scene, name), boundPx));
  return { scene: numbersOf(scene, setting), boundPx, errors };
}

/** Plain numbers of the scene, without what cannot be sent or is not asked for. */
function numbersOf(scene: Scene, setting: SceneSetting): SceneDescription {
  const { shape: _, camera: __, setting: ___, ...numbers } = scene;
  return { ...numbers, focusShiftUm: setting.focusShiftUm };
}
