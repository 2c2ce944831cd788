/**
 * The estimators by name, each set up for a scene as its user has set them: window, search, threshold,
 * template.
 */

import {
  type Centroid,
  type PreparedEstimator,
  prepareCenterOfMass,
  prepareCrossCorrelation,
  prepareGaussianFit,
  preparePointSymmetryCenter,
  prepareRunningTemplate,
  prepareTemplateFit,
  prepareThresholdedCenterOfMass,
  prepareWeightedCenterOfMass,
} from '@holdfast/centroid';
import { leastWeightFwhmPx } from '@holdfast/centroid/internal';
import { requireNames, requireOneOf } from '@holdfast/psf/numerics';
import { type EstimatorName, estimatorNames, type Rig } from '../rig/rig-schema.ts';
import { keptPlan } from './kept-star.ts';
import { type AnyEstimator, isOwn, prepareOwnEstimator, requireOwnEstimator } from './own-estimator.ts';
import type { Scene } from './scene.ts';

/** Name for people. */
export const estimatorLabels: Record<EstimatorName, string> = {
  centerOfMass: 'center of mass',
  thresholdedCenterOfMass: 'thresholded center of mass',
  weightedCenterOfMass: 'weighted center of mass',
  gaussianFit: 'Gaussian fit',
  pointSymmetryCenter: 'point-symmetry center',
  crossCorrelation: 'cross-correlation',
  templateFit: 'template fit',
};

/** An estimator and how it is set; what is left out is as the scene's rig has it. */
export interface EstimatorSetting<Estimator = EstimatorName> {
  /** Name of the estimator, or one of your own. */
  readonly estimator: Estimator;
  /** Threshold of the thresholded center of mass, in sigmas of a pixel's noise. */
  readonly thresholdSigma?: number;
  /** What the pixels above that threshold weigh. Default 'subtract'. */
  readonly thresholdForm?: 'subtract' | 'keep';
  /** Side of the square that is measured, px. */
  readonly windowPx?: number;
  /** How far from its last position the star is looked for, px along each axis. */
  readonly searchPx?: number;
  /**
   * Frames before that a template is the running mean of. Default: the template is the exact star as the
   * model knows it, which no observer has: for teaching, and for bounds.
   */
  readonly templateFrames?: number;
}

/** Where the star was last, px of the stamp. */
export interface Start {
  readonly x: number;
  readonly y: number;
}

/**
 * Measures the star on a frame's pixels (background included), given the background level of that frame and
 * where the loop last had the star (default: the middle of the stamp).
 */
export type MeasureStar = (pixels: Float64Array, background: number, start?: Start) => Centroid;

/** An estimator alone means one that is set as the scene's rig has it. */
export function settingOf<Estimator extends AnyEstimator>(
  choice: Estimator | EstimatorSetting<Estimator>,
): EstimatorSetting<Estimator> {
  const setting = isSetting(choice)
    ? requireNames(
        'estimator',
        choice,
        'estimator thresholdSigma thresholdForm windowPx searchPx templateFrames',
      )
    : { estimator: choice };
  if (isOwn(setting.estimator)) requireOwnEstimator(setting.estimator);
  else requireOneOf('estimator', setting.estimator, estimatorNames);
  return setting;
}

function isSetting<Estimator extends AnyEstimator>(
  choice: Estimator | EstimatorSetting<Estimator>,
): choice is EstimatorSetting<Estimator> {
  return typeof choice === 'object' && choice !== null && 'estimator' in choice;
}

/** What a name says beside the method: whose template it is. */
export function settingLabel({ estimator, templateFrames }: EstimatorSetting): string {
  const label = estimatorLabels[estimator];
  if (!usesTemplate(estimator)) return label;
  return templateFrames === undefined ? `${label}, exact star` : `${label}, mean of ${templateFrames} frames`;
}

/** A method as one has it at night: its template the running mean of frames, not the exact star. */
export function methodOf<Estimator extends AnyEstimator>(
  rig: Rig,
  estimator: Estimator,
): EstimatorSetting<Estimator> {
  return usesTemplate(estimator) ? { estimator, templateFrames: rig.tracking.templateFrames } : { estimator };
}

export function usesTemplate(estimator: AnyEstimator): boolean {
  return estimator === 'crossCorrelation' || estimator === 'templateFit';
}

/** Methods that fit a shape: they leave saturated pixels out. A center of mass takes them as they are. */
const fits: readonly AnyEstimator[] = [
  'gaussianFit',
  'pointSymmetryCenter',
  'crossCorrelation',
  'templateFit',
];

/**
 * An estimator made ready for the scene's stamp. It measures a square window around the last position and
 * nothing else; a position farther than `searchPx` from the last one counts as none.
 *
 * A running template has a memory: give each run of frames an estimator of its own. Your own estimator gets
 * saturated pixels as they are.
 *
 * @param backgroundSigma  1 sigma error of the background level that each frame comes with, electrons
 * @param predictsError    whether a center of mass comes with its predicted error, which takes longer than itself. Default true
 * @throws RangeError when a setting is out of its range
 */
export function prepareEstimator(
  estimator: AnyEstimator | EstimatorSetting<AnyEstimator>,
  scene: Scene,
  backgroundSigma: number,
  { predictsError = true }: { readonly predictsError?: boolean } = {},
): MeasureStar {
  const setting = settingOf(estimator);
  const side = setting.windowPx ?? scene.windowPx;
  if (!(Number.isInteger(side) && side >= 5 && side <= scene.width))
    throw new RangeError(`windowPx must be a whole number from 5 to the stamp's ${scene.width}, got ${side}`);
  const searchPx = setting.searchPx ?? scene.searchPx ?? side / 2;
  const measure = prepare(setting, scene, side, backgroundSigma, predictsError);
  const window = new Float64Array(side * side);
  const highest = fits.includes(setting.estimator) ? scene.saturationE : Infinity;
  const middle: Start = { x: scene.column, y: scene.row };
  return (pixels, background, start = middle) => {
    const { left, top } = cutWindow(window, pixels, scene, side, start);
    // An unusable pixel is one that is not a number.
    if (highest < Infinity)
      for (let k = 0; k < window.length; k++) if (window[k] >= highest) window[k] = Number.NaN;
    const found = measure(window, { x: start.x - left, y: start.y - top }, background);
    if (!found.ok) return found;
    const x = found.x + left;
    const y = found.y + top;
    if (!(Math.abs(x - start.x) <= searchPx && Math.abs(y - start.y) <= searchPx)) return outside;
    return { ...found, x, y };
  };
}

const outside: Centroid = { ok: false, reason: 'outside' };

/** Copy the square window around a place out of the scene's stamp; returns its first column and row. */
export function cutWindow(
  window: Float64Array,
  pixels: Float64Array,
  { width, height }: Scene,
  side: number,
  { x: middleX, y: middleY }: Start,
): { left: number; top: number } {
  const left = cornerOf(middleX, side, width);
  const top = cornerOf(middleY, side, height);
  for (let y = 0, k = 0; y < side; y++)
    for (let from = (top + y) * width + left, x = 0; x < side; x++, k++) window[k] = pixels[from + x];
  return { left, top };
}

/**
 * Middle of the window that is measured for a star last seen at a place, px of the stamp: it stands on whole
 * pixels.
 */
export function windowMiddle({ width, height }: Scene, side: number, { x, y }: Start): Start {
  const half = (side - 1) / 2;
  return { x: cornerOf(x, side, width) + half, y: cornerOf(y, side, height) + half };
}

/** First column of the window, kept on the stamp. */
function cornerOf(at: number, side: number, size: number): number {
  return Math.max(0, Math.min(size - side, Math.round(at - (side - 1) / 2)));
}

function prepare(
  { estimator, thresholdSigma, thresholdForm, templateFrames }: EstimatorSetting<AnyEstimator>,
  scene: Scene,
  side: number,
  backgroundSigma: number,
  predictsError: boolean,
): PreparedEstimator {
  const size = { width: side, height: side };
  const options = { noise: { readNoiseE: scene.pixelNoiseE }, backgroundSigma, predictsError };
  if (isOwn(estimator)) return prepareOwnEstimator(estimator, size, options);
  // Where saturated pixels are left out, the flanks tell the position, however little of the light they hold.
  const fitOptions = scene.peakE >= scene.saturationE ? { ...options, leastLightShare: 0 } : options;
  switch (estimator) {
    case 'centerOfMass':
      return prepareCenterOfMass(size, options);
    case 'thresholdedCenterOfMass':
      return prepareThresholdedCenterOfMass(size, {
        ...options,
        thresholdSigma: thresholdSigma ?? scene.thresholdSigma,
        ...(thresholdForm === undefined ? {} : { form: thresholdForm }),
      });
    case 'gaussianFit':
      // The background is known from the border: left free under a ring, it trades against an ever wider
      // Gaussian.
      return prepareGaussianFit(size, { ...fitOptions, fitBackground: false });
    case 'weightedCenterOfMass':
      return prepareWeightedCenterOfMass(size, {
        ...options,
        weightFwhmPx: Math.max(
          leastWeightFwhmPx,
          Math.sqrt(scene.blurFwhmPx ** 2 + scene.outerDiameterPx ** 2),
        ),
      });
    case 'pointSymmetryCenter':
      return preparePointSymmetryCenter(size, options);
    case 'crossCorrelation':
    case 'templateFit': {
      const fitting = { ...fitOptions, fitBackground: false };
      if (templateFrames !== undefined) {
        const { noise, ...unweighted } = fitting;
        const running = prepareRunningTemplate(size, {
          ...(estimator === 'templateFit' ? { ...unweighted, noise } : unweighted),
          // As one sets it: the star, since all beyond it adds noise and work alone.
          radiusPx: Math.min(side / 2, Math.ceil(scene.radiusPx) + 1),
          memory: templateFrames,
        });
        return (image, guess, background) => running.measure(image, guess, background);
      }
      const template = keptPlan(scene);
      return estimator === 'crossCorrelation'
        ? prepareCrossCorrelation(size, { ...fitting, template })
        : prepareTemplateFit(size, { ...fitting, template });
    }
  }
}
