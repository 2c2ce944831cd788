/** Which estimator to take for a star, with which window, threshold or weight, and why. */

import { requireNames, requireNonNegative } from '@holdfast/psf/numerics';
import {
  type EstimatorOptions,
  type Image,
  type ImageSize,
  type Noise,
  type NotLocated,
  notLocated,
  type Position,
  type PreparedEstimator,
} from '../pixels/centroid.ts';
import { requirePosition } from '../pixels/estimator-options.ts';
import { sizeOf } from '../pixels/image-view.ts';
import type { StarTemplate } from '../template/star-template.ts';
import { candidatesFor, type EstimatorCandidate, estimatorLabel } from './estimator-settings.ts';
import { prepareNamed } from './estimators-by-name.ts';
import { positionBound } from './position-bound.ts';
import { predictError } from './predict-error.ts';

/**
 * A star by its expected electrons per pixel, without background. Place it a quarter of a pixel off the
 * middle of one: there the place in the pixel pulls most.
 */
export interface ImagedStar {
  /** Expected electrons per pixel of the star alone. */
  readonly expected: Image;
  /** Where its center lies in that image, px. */
  readonly at: Position;
}

/** The noise of the camera that sees the star. */
export interface StarCamera extends Noise {
  /** 1 sigma error of the background level that is taken off, electrons per pixel. Default 0. */
  readonly backgroundSigma?: number;
}

/** The star, the camera and what is asked of the estimator. */
export interface ChooseEstimatorOptions {
  /**
   * What the star looks like, where that is known: only then cross-correlation and template fit are among the
   * choices.
   */
  readonly template?: StarTemplate;
}

/** An estimator with its setting, and what it is expected to do. */
export interface RatedEstimator {
  /** The estimator and how it is set. */
  readonly setting: EstimatorCandidate;
  /** Expected 1 sigma scatter, and mean error at an awkward place in a pixel: the larger of x and y, px. */
  readonly sigmaPx: number;
  /** Offset of the position from the truth, px. */
  readonly biasPx: number;
  /** Both together, px. */
  readonly rmsPx: number;
  /** Over the least possible error. */
  readonly boundRatio: number;
  /** The estimator made ready. Give it the noise model and where the star is thought to be. */
  prepare(size: ImageSize, options?: EstimatorOptions): PreparedEstimator;
}

/** The estimator to take, and how the others compare. */
export interface EstimatorChoice extends RatedEstimator {
  readonly ok: true;
  /** Why this one: a sentence. */
  readonly why: string;
  /** Least possible error, px. */
  readonly boundPx: number;
  /** All that were rated, best first, one setting each. */
  readonly rated: readonly RatedEstimator[];
}

/** Below this flux over its error no prediction holds. */
const leastSnr = 5;

/** A simpler estimator is taken when the best one is better by less than this. */
const worthwhile = 0.03;

/**
 * The estimator that locates a star best.
 *
 * The error of each estimator is predicted on the expected image (`predictError`), in a few windows,
 * thresholds and weights, and compared with the least possible (`positionBound`): a few milliseconds, no
 * frames. Of those that come within 3 % of the best the simplest is taken, in the order center of mass,
 * thresholded, weighted, Gaussian fit, center of symmetry, cross-correlation, template fit. The last two are
 * considered when a `template` is given. All of it is to first order: fainter than some 5 times its error, a
 * star is not rated.
 *
 * ```ts
 * const ring = { kind: 'annulus', outerDiameterPx: 14, obstructionRatio: 0.35, blurFwhmPx: 2.5 }
 * const at = { x: 18.25, y: 18.15 }
 * const expected = renderStar(ring, { width: 37, height: 37, ...at, flux: 8000 }) // of @holdfast/psf
 * const choice = chooseEstimator({ expected, at }, { readNoiseE: 1.5, backgroundE: 12 })
 * if (choice.ok) {
 *   console.log(choice.why)
 *   const measure = choice.prepare({ width: 32, height: 32 }, { noise: { readNoiseE: 1.5 }, guess: { x: 16, y: 16 } })
 * }
 * ```
 * @param star  its expected image, with room around it
 * @returns the choice; or 'too-faint' (flux below 5 times its least error, or no estimator locates it),
 *   'no-flux'
 * @throws RangeError or TypeError naming what is out of range
 */
export function chooseEstimator(
  star: ImagedStar,
  camera: StarCamera,
  options: ChooseEstimatorOptions = {},
): EstimatorChoice | NotLocated {
  const { expected, at } = requireNames('star', star, 'expected at');
  const { template } = requireNames('options', options, 'template');
  requireNames('camera', camera, 'readNoiseE backgroundE backgroundSigma');
  const noise = {
    readNoiseE: requireNonNegative('camera.readNoiseE', camera.readNoiseE),
    backgroundE: requireNonNegative('camera.backgroundE', camera.backgroundE ?? 0),
  };
  const backgroundSigma = requireNonNegative('camera.backgroundSigma', camera.backgroundSigma ?? 0);
  sizeOf(expected);
  requirePosition('star.at', at);
  const bound = positionBound(expected, noise);
  const boundPx = Math.max(bound.sigmaX, bound.sigmaY);
  if (!(bound.snr > 0 && boundPx < Infinity)) return notLocated('no-flux');
  if (bound.snr < leastSnr) return notLocated('too-faint');

  const best = new Map<string, RatedEstimator>();
  for (const setting of candidatesFor(expected, at, template)) {
    const predicted = predictError(expected, { ...setting, at, noise, backgroundSigma });
    if (!predicted.ok || predicted.snr < leastSnr / 2) continue;
    const sigmaPx = Math.max(predicted.sigmaX, predicted.sigmaY);
    const biasPx = Math.max(Math.abs(predicted.biasX), Math.abs(predicted.biasY));
    const rmsPx = Math.sqrt(sigmaPx * sigmaPx + biasPx * biasPx);
    const known = best.get(setting.estimator);
    if (known === undefined || rmsPx < known.rmsPx)
      best.set(setting.estimator, {
        setting,
        sigmaPx,
        biasPx,
        rmsPx,
        boundRatio: rmsPx / boundPx,
        prepare: (size, options = {}) => prepareNamed(size, setting, options),
      });
  }
  const inOrder = [...best.values()];
  const rated = [...inOrder].sort((a, b) => a.rmsPx - b.rmsPx);
  const chosen = inOrder.find(({ rmsPx }) => rmsPx <= (1 + worthwhile) * rated[0].rmsPx);
  if (chosen === undefined) return notLocated('too-faint');
  return {
    ok: true,
    ...chosen,
    why: reasonFor(chosen, rated, boundPx),
    boundPx,
    rated,
  };
}

function reasonFor(chosen: RatedEstimator, rated: readonly RatedEstimator[], boundPx: number): string {
  const px = (value: number) => value.toPrecision(2);
  const times = (ratio: number) => ratio.toFixed(ratio < 9.95 ? 2 : 0);
  const head = `${estimatorLabel(chosen.setting)}: ${px(chosen.rmsPx)} px expected, ${times(chosen.boundRatio)} times the least possible ${px(boundPx)} px`;
  const other = rated.find(({ setting }) => setting.estimator !== chosen.setting.estimator);
  if (other === undefined) return head;
  const comparison = other.rmsPx < chosen.rmsPx ? 'hardly better, and less simple' : 'next best';
  return `${head}; ${comparison}: ${estimatorLabel(other.setting)}, ${px(other.rmsPx)} px`;
}
