/** Where each way of measuring puts one star, frame after frame: the errors one by one. */
import {
  buildScene,
  type EstimatorName,
  estimatorNames,
  type Rig,
  type SceneSetting,
  simulateFrames,
} from '@holdfast/sim';
import { leastError, prepareEstimator } from '@holdfast/sim/internal';

export interface PositionCloud {
  readonly estimator: EstimatorName;
  /** Measured minus true position, px; lost frames are left out. */
  readonly errorX: Float64Array;
  readonly errorY: Float64Array;
  readonly lost: number;
}

export function positionCloud(
  rig: Rig,
  setting: SceneSetting,
  { seed, trials }: { readonly seed: string; readonly trials: number },
): { readonly clouds: PositionCloud[]; readonly boundPx: number } {
  const scene = buildScene(rig, setting);
  const frames = simulateFrames(scene, seed);
  const measured = estimatorNames.map((estimator) => ({
    estimator,
    measure: prepareEstimator(estimator, scene, frames.backgroundSigma),
    errorX: [] as number[],
    errorY: [] as number[],
  }));
  for (let trial = 0; trial < trials; trial++) {
    const { pixels, background, x, y } = frames.frame(trial);
    for (const { measure, errorX, errorY } of measured) {
      const found = measure(pixels, background);
      if (!found.ok) continue;
      errorX.push(found.x - x);
      errorY.push(found.y - y);
    }
  }
  const clouds = measured.map(({ estimator, errorX, errorY }) => ({
    estimator,
    errorX: Float64Array.from(errorX),
    errorY: Float64Array.from(errorY),
    lost: trials - errorX.length,
  }));
  return { clouds, boundPx: leastError(scene) };
}
