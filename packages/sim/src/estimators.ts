/** The estimators by name, each set up for a scene as a careful user would: aperture, threshold and noise to match. */
import {
  type Centroid,
  type EstimatorOptions,
  type PreparedEstimator,
  prepareCenterOfMass,
  prepareGaussianFit,
  prepareThresholdedCenterOfMass,
} from '@holdfast/centroid';
import type { EstimatorName } from './rig-schema.ts';
import type { Scene } from './scene.ts';

/** Name for people. */
export const estimatorLabels: Record<EstimatorName, string> = {
  centerOfMass: 'centre of mass',
  thresholdedCenterOfMass: 'thresholded centre of mass',
  gaussianFit: 'Gaussian fit',
};

/** Measures the star on a frame's pixels (background included) and the background level of that frame. */
export type MeasureStar = (pixels: Float64Array, background: number) => Centroid;

/**
 * An estimator made ready for the scene's stamp.
 *
 * @param backgroundSigma  1 sigma error of the background level that each frame comes with, electrons
 */
export function prepareEstimator(name: EstimatorName, scene: Scene, backgroundSigma: number): MeasureStar {
  const measure = prepare(name, scene, {
    guess: { x: scene.column, y: scene.row },
    radiusPx: scene.radiusPx,
    noise: { readNoiseE: scene.pixelNoiseE },
    backgroundSigma,
    saturationE: scene.saturationE,
  });
  return (pixels, background) => measure(pixels, undefined, background);
}

function prepare(name: EstimatorName, scene: Scene, options: EstimatorOptions): PreparedEstimator {
  switch (name) {
    case 'centerOfMass':
      return prepareCenterOfMass(scene, options);
    case 'thresholdedCenterOfMass':
      return prepareThresholdedCenterOfMass(scene, { ...options, thresholdSigma: 2 });
    case 'gaussianFit':
      // The background is known from the border: left free under a ring, it trades against an ever wider Gaussian.
      return prepareGaussianFit(scene, { ...options, fitBackground: false });
  }
}
