/** The estimators by name, each set up for a scene as a careful user would: aperture, threshold and noise to match. */
import {
  type Centroid,
  type EstimatorOptions,
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

export type MeasureStar = (pixels: Float64Array) => Centroid;

/** A way of measuring the star on background-subtracted pixels of the scene's stamp. */
export function prepareEstimator(name: EstimatorName, scene: Scene, backgroundSigma: number): MeasureStar {
  const options: EstimatorOptions = {
    guess: { x: scene.column, y: scene.row },
    radiusPx: scene.radiusPx,
    noise: { readNoiseE: scene.pixelNoiseE, subtractedE: scene.backgroundE },
    backgroundSigma,
    saturationE: scene.saturationE - scene.backgroundE,
  };
  switch (name) {
    case 'centerOfMass':
      return prepareCenterOfMass(scene, options);
    case 'thresholdedCenterOfMass':
      return prepareThresholdedCenterOfMass(scene, { ...options, thresholdSigma: 2 });
    case 'gaussianFit':
      return prepareGaussianFit(scene, options);
  }
}
