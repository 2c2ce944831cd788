/**
 * A rig taken through scene, trials and the error by formula: whether any of it throws, or gives what is no
 * finite number.
 */
import { buildScene, compareEstimators, type Rig } from '@holdfast/sim';
import { analyticErrorPx } from '@holdfast/sim/internal';

/** Side of the largest stamp that a rig may need, px. */
const mostPx = 1024;

/** Where the first number that is none stands; undefined when all are finite. */
export function firstNonFinite(value: unknown, path = ''): string | undefined {
  if (typeof value === 'number') return Number.isFinite(value) ? undefined : `${path} = ${value}`;
  if (typeof value !== 'object' || value === null) return undefined;
  for (const [name, part] of Object.entries(value)) {
    const found = firstNonFinite(part, path === '' ? name : `${path}.${name}`);
    if (found !== undefined) return found;
  }
  return undefined;
}

/**
 * @param measuredPx  larger stamps are drawn but not measured, px: 64 frames of the largest take a minute
 * @returns what is wrong with it at one of its filters, if anything
 */
export function runRig(rig: Rig, filter: number, measuredPx = 161): string | undefined {
  try {
    const scene = buildScene(rig, {
      focusShiftUm: rig.filters[filter].focusShiftUm + rig.guideFocusShiftUm,
    });
    if (scene.width > mostPx) return `stamp of ${scene.width} px`;
    const { shape: _, setting: __, ...numbers } = scene;
    const strange = firstNonFinite(numbers, 'scene');
    if (strange !== undefined || scene.width > measuredPx) return strange;
    const { estimator } = rig.tracking;
    return firstNonFinite({
      trials: compareEstimators(scene, { estimators: [estimator], seed: 1, trials: 64 }),
      formulaPx: analyticErrorPx(scene, estimator),
    });
  } catch (error) {
    return String(error);
  }
}
