/** One noisy frame of the star, and where each way of measuring puts it. */
import {
  buildScene,
  type EstimatorName,
  estimatorNames,
  type Rig,
  type SceneSetting,
  simulateFrames,
} from '@holdfast/sim';
import { prepareEstimator } from '@holdfast/sim/internal';

export interface MeasuredFrame {
  readonly width: number;
  readonly height: number;
  /** Electrons above the background, row by row. */
  readonly pixels: Float64Array;
  /** Where the star truly is. */
  readonly x: number;
  readonly y: number;
  readonly positions: readonly FramePosition[];
}

export interface FramePosition {
  readonly estimator: EstimatorName;
  readonly x?: number;
  readonly y?: number;
  /** What the estimator itself takes for its error, px. */
  readonly sigmaPx?: number;
  readonly reason?: string;
}

export function oneFrame(rig: Rig, setting: SceneSetting, seed: string, trial: number): MeasuredFrame {
  const scene = buildScene(rig, setting);
  const frames = simulateFrames(scene, seed);
  const { pixels, background, x, y } = frames.frame(trial);
  const positions = estimatorNames.map((estimator): FramePosition => {
    const found = prepareEstimator(estimator, scene, frames.backgroundSigma)(pixels, background);
    if (!found.ok) return { estimator, reason: found.reason };
    const { sigmaX, sigmaY } = found;
    const sigma = sigmaX === undefined || sigmaY === undefined ? {} : { sigmaPx: (sigmaX + sigmaY) / 2 };
    return { estimator, x: found.x, y: found.y, ...sigma };
  });
  return {
    width: scene.width,
    height: scene.height,
    pixels: pixels.map((value) => value - background),
    x,
    y,
    positions,
  };
}
