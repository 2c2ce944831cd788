/** The first answer about a star: by few simulated frames. */
import { type Assessment, buildScene, measureError, type Rig, type SceneSetting } from '@holdfast/sim';
import { likelyAssessment, numbersOf } from './formula-error.ts';

/** Few enough for a moment. */
const firstTrials = 64;
/** How a star stands by a few frames: by its value alone, without its interval. */
export function firstAssessment(rig: Rig, setting: SceneSetting, seed: string): Assessment {
  const scene = buildScene(rig, setting);
  const error = measureError(scene, { estimator: rig.tracking.estimator, seed, trials: firstTrials });
  return likelyAssessment(rig, numbersOf(scene, setting), error);
}
