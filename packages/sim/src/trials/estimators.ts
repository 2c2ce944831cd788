/** The estimators by name, each set up for a scene as a careful user would: aperture, threshold and noise to match. */
import {
  type Centroid,
  type EstimatorOptions,
  type PreparedEstimator,
  prepareCenterOfMass,
  prepareCrossCorrelation,
  prepareGaussianFit,
  prepareMirrorSymmetryCenter,
  prepareTemplateFit,
  prepareThresholdedCenterOfMass,
  prepareWeightedCenterOfMass,
} from '@holdfast/centroid';
import { thresholdedDefaults } from '@holdfast/centroid/internal';
import type { EstimatorName } from '../rig/rig-schema.ts';
import { prepareScene, type Scene } from './scene.ts';

/** Name for people. */
export const estimatorLabels: Record<EstimatorName, string> = {
  centerOfMass: 'centre of mass',
  thresholdedCenterOfMass: 'thresholded centre of mass',
  weightedCenterOfMass: 'weighted centre of mass',
  gaussianFit: 'Gaussian fit',
  mirrorSymmetryCenter: 'mirror-symmetry centre',
  crossCorrelation: 'cross-correlation',
  templateFit: 'template fit',
};

/** An estimator and how it is set; what is left out is set to suit the scene. */
export interface EstimatorSetting {
  readonly estimator: EstimatorName;
  /** Threshold of the thresholded centre of mass, in sigmas of a pixel's noise. Default 2. */
  readonly thresholdSigma?: number;
  /** Radius of the aperture around the star's pixel, px. Default: the scene's, which holds nearly all of the light. */
  readonly radiusPx?: number;
}

/** Measures the star on a frame's pixels (background included) and the background level of that frame. */
export type MeasureStar = (pixels: Float64Array, background: number) => Centroid;

/** A name alone means the estimator set to suit the scene. */
export function settingOf(estimator: EstimatorName | EstimatorSetting): EstimatorSetting {
  return typeof estimator === 'string' ? { estimator } : estimator;
}

/**
 * An estimator made ready for the scene's stamp.
 *
 * @param backgroundSigma  1 sigma error of the background level that each frame comes with, electrons
 * @param predictsError    whether a centre of mass comes with its predicted error, which takes longer than itself. Default true
 * @throws RangeError when a setting is out of its range
 */
export function prepareEstimator(
  estimator: EstimatorName | EstimatorSetting,
  scene: Scene,
  backgroundSigma: number,
  { predictsError = true }: { readonly predictsError?: boolean } = {},
): MeasureStar {
  const setting = settingOf(estimator);
  const measure = prepare(setting, scene, {
    guess: { x: scene.column, y: scene.row },
    radiusPx: setting.radiusPx ?? scene.radiusPx,
    noise: { readNoiseE: scene.pixelNoiseE },
    backgroundSigma,
    predictsError,
    saturationE: scene.saturationE,
  });
  return (pixels, background) => measure(pixels, undefined, background);
}

function prepare(
  { estimator, thresholdSigma = thresholdedDefaults.thresholdSigma }: EstimatorSetting,
  scene: Scene,
  options: EstimatorOptions,
): PreparedEstimator {
  switch (estimator) {
    case 'centerOfMass':
      return prepareCenterOfMass(scene, options);
    case 'thresholdedCenterOfMass':
      return prepareThresholdedCenterOfMass(scene, { ...options, thresholdSigma });
    case 'gaussianFit':
      // The background is known from the border: left free under a ring, it trades against an ever wider Gaussian.
      return prepareGaussianFit(scene, { ...options, fitBackground: false });
    case 'weightedCenterOfMass':
      return prepareWeightedCenterOfMass(scene, {
        ...options,
        weightFwhmPx: Math.sqrt(scene.blurFwhmPx ** 2 + scene.outerDiameterPx ** 2),
      });
    case 'mirrorSymmetryCenter':
      // Its aperture stays near the guess: it needs room for the light and its counterpart.
      return prepareMirrorSymmetryCenter(scene, {
        ...options,
        radiusPx: Math.min((options.radiusPx ?? scene.radiusPx) + scene.blurFwhmPx, scene.column),
      });
    // The template is the star as the model expects it: what a long mean of real frames comes near to.
    case 'crossCorrelation':
      return prepareCrossCorrelation(scene, {
        ...options,
        template: prepareScene(scene),
        fitBackground: false,
      });
    case 'templateFit':
      return prepareTemplateFit(scene, { ...options, template: prepareScene(scene), fitBackground: false });
  }
}
