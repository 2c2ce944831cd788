/** Scenes by formula: the error of each way of measuring, and the least possible one. */

import type { SceneDescription } from '@holdfast/sim';
import {
  buildScene,
  type EstimatorName,
  type PositionError,
  type Rig,
  type SceneSetting,
} from '@holdfast/sim';
import { analyticErrorPx, leastError } from '@holdfast/sim/internal';
import { formulaError, numbersOf } from './formula-error.ts';

export interface FormulaPoint {
  readonly scene: SceneDescription;
  /** px; absent where it was not asked for. */
  readonly boundPx: number | undefined;
  /** In the order of the estimators asked for. */
  readonly errors: readonly PositionError[];
}

export function formulaPoints(
  rig: Rig,
  settings: readonly SceneSetting[],
  estimators: readonly EstimatorName[],
  withBound = true,
): FormulaPoint[] {
  return settings.map((setting) => {
    const scene = buildScene(rig, setting);
    const boundPx = withBound ? leastError(scene) : undefined;
    const errors = estimators.map((name) => formulaError(scene, name, analyticErrorPx(scene, name), boundPx));
    return { scene: numbersOf(scene, setting), boundPx, errors };
  });
}
