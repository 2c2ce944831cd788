/** A cell of the page's own: its rows do not ask which sweep they are of, whose fingerprint takes a while. */
import type { EstimatorName, Rig, SceneSetting, SweepCell } from '@holdfast/sim';

export const liveSeed = 'notebook';

export const cellOf = (
  rig: Rig,
  setting: SceneSetting,
  names: readonly EstimatorName[],
  trials: number,
): SweepCell => ({
  cell: 0,
  plan: '',
  rig,
  setting,
  estimators: names.map((estimator) => ({ estimator })),
  seed: liveSeed,
  trials,
});
