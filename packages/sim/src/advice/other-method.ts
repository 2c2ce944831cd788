/**
 * A method that the rig does not offer, where none that it offers does: said apart, since most imagers cannot
 * choose it.
 */
import { noiseWithinBudgetArcsec } from '../budget/budget.ts';
import { type EstimatorName, estimatorNames, type Rig } from '../rig/rig-schema.ts';
import { analyticErrorPx } from '../trials/analytic-error.ts';
import { estimatorLabels, methodOf } from '../trials/estimators.ts';
import { leastError } from '../trials/least-error.ts';
import type { TrialOptions } from '../trials/measure-error.ts';
import { buildScene, type SceneSetting } from '../trials/scene.ts';
import { type Assessment, assess } from './assessment.ts';

/** A method that is not among the rig's, and how the star does with it. */
export interface OtherMethod {
  /** The method, its template the running mean of frames where it takes one. */
  readonly estimator: EstimatorName;
  /** How the star does with it, against the budget. */
  readonly assessment: Assessment;
  /** For people, one sentence. */
  readonly text: string;
}

/**
 * The first method beyond those of `tracking.available` that keeps the star within the budget; undefined when
 * none does. In steps of a few trials.
 */
export function* otherMethod(
  rig: Rig,
  setting: SceneSetting,
  trials: TrialOptions,
): Generator<void, OtherMethod | undefined> {
  const { estimator: own, available } = rig.tracking;
  const scene = buildScene(rig, setting);
  const allowedPx = noiseWithinBudgetArcsec(rig, { exposureS: scene.exposureS }) / scene.arcsecPerPx;
  if (leastError(scene) > allowedPx) return undefined;
  for (const estimator of [...estimatorNames].reverse()) {
    if (estimator === own || available.includes(estimator)) continue;
    // By formula with the exact star as its template: better than any mean of frames.
    if ((analyticErrorPx(scene, estimator) ?? Infinity) > allowedPx) continue;
    const assessment = yield* assess(rig, setting, methodOf(rig, estimator), { ...trials, looks: 0 });
    if (assessment.verdict !== 'within') continue;
    const text = `with the ${estimatorLabels[estimator]} it would be within; tracking.available does not name it`;
    return { estimator, assessment, text };
  }
  return undefined;
}
