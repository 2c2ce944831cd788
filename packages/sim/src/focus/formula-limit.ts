/** The focus limit by formula: how far from focus an expected error stays within what the budget allows of noise. */
import { noiseWithinBudgetArcsec } from '../budget/budget.ts';
import type { Rig } from '../rig/rig-schema.ts';
import { buildScene, type Scene, type SceneSetting } from '../trials/scene.ts';
import { rangeOf } from './focus-point.ts';

/**
 * Largest distance beyond focus, um, to 1 %.
 *
 * @param errorPx  expected error of a scene, px; undefined where there is none, as of a star that is too faint
 */
export function formulaLimitUm(
  rig: Rig,
  errorPx: (scene: Scene) => number | undefined,
  setting: Omit<SceneSetting, 'focusShiftUm'> = {},
): number {
  const allowedArcsec = noiseWithinBudgetArcsec(rig);
  return lastWithin(rangeOf(rig, setting).largestUm, (focusShiftUm) => {
    const scene = buildScene(rig, { ...setting, focusShiftUm });
    return (errorPx(scene) ?? Infinity) * scene.arcsecPerPx <= allowedArcsec;
  });
}

/** The largest distance at which a condition that fails but once still holds, by doubling and bisection, to 1 %. */
function lastWithin(largestUm: number, within: (distanceUm: number) => boolean): number {
  if (!within(0)) return 0;
  let low = 0;
  let high = Math.min(largestUm, 50);
  while (within(high)) {
    if (high >= largestUm) return largestUm;
    low = high;
    high = Math.min(largestUm, 2 * high);
  }
  while (high - low > 0.02 * high) {
    const middle = 0.5 * (low + high);
    if (within(middle)) low = middle;
    else high = middle;
  }
  return 0.5 * (low + high);
}
