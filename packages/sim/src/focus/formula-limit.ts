/**
 * The focus limit by formula: how far from focus an expected error stays within what the budget allows of
 * noise.
 */
import { noiseWithinBudgetArcsec } from '../budget/budget.ts';
import type { PickoffDepthLimits } from '../pickoff/pickoff-trade-off.ts';
import type { Rig } from '../rig/rig-schema.ts';
import { analyticErrorPx } from '../trials/analytic-error.ts';
import { buildScene, type Scene, type SceneSetting } from '../trials/scene.ts';
import { lastWithin } from './close-bracket.ts';
import { rangeOf } from './focus-point.ts';

/**
 * Largest distance beyond focus, um, to 1 %.
 *
 * @param guessUm  where the search begins, um; default: a ring of 10 px
 * @param errorPx expected error of a scene, px; undefined where there is none, as of a star that is too faint
 */
export function formulaLimitUm(
  rig: Rig,
  errorPx: (scene: Scene) => number | undefined,
  setting: Omit<SceneSetting, 'focusShiftUm'> = {},
  guessUm?: number,
): number {
  const allowedArcsec = noiseWithinBudgetArcsec(rig);
  const { umPerPx, largestUm } = rangeOf(rig, setting);
  return lastWithin(largestUm, guessUm ?? 10 * umPerPx, (focusShiftUm) => {
    const scene = buildScene(rig, { ...setting, focusShiftUm });
    return ((errorPx(scene) ?? Infinity) * scene.arcsecPerPx) / allowedArcsec;
  });
}

/**
 * Noise-equivalent error of the rig's method at a shift, and its focus limit: both by formula, for
 * `pickoffTradeOff`.
 */
export function formulaLimits(rig: Rig, focusShiftUm: number): PickoffDepthLimits {
  const errorPx = (scene: Scene): number | undefined => analyticErrorPx(scene, rig.tracking.estimator);
  const scene = buildScene(rig, { focusShiftUm });
  const noisePx = errorPx(scene);
  return {
    noiseEquivalentArcsec: noisePx === undefined ? undefined : noisePx * scene.arcsecPerPx,
    focusLimitUm: formulaLimitUm(rig, errorPx),
  };
}
