/** Which estimator to take for a star, with which window, threshold or weight, and why. */

import { requireNonNegative, requirePositive } from '@holdfast/psf/numerics';
import ndarray from 'ndarray';
import {
  type EstimatorOptions,
  type Image,
  type ImageSize,
  type NotLocated,
  notLocated,
  type Position,
  type PreparedEstimator,
} from '../pixels/centroid.ts';
import { requirePosition } from '../pixels/estimator-options.ts';
import { sizeOf } from '../pixels/image-view.ts';
import type { StarTemplate } from '../template/star-template.ts';
import {
  candidatesFor,
  type EstimatorSetting,
  estimatorLabel,
  prepareSetting,
} from './estimator-settings.ts';
import { type FrameNoise, positionBound } from './position-bound.ts';
import { predictError } from './predict-error.ts';
import { drawRing, type RingStar } from './ring-image.ts';

/** A star by its expected electrons per pixel, without background. */
export interface ImagedStar {
  readonly expected: Image;
  /** Where its centre lies in that image, px. */
  readonly at: Position;
}

export interface StarCamera extends FrameNoise {
  /** 1 sigma error of the background level that is taken off, electrons per pixel. Default 0. */
  readonly backgroundSigma?: number;
}

export interface ChooseEstimatorOptions {
  /** What the star looks like, where that is known: only then cross-correlation and template fit are among the choices. */
  readonly template?: StarTemplate;
}

/** An estimator with its setting, and what it is expected to do. */
export interface RatedEstimator {
  readonly setting: EstimatorSetting;
  /** Expected 1 sigma scatter, and mean error at an awkward place in a pixel: the larger of x and y, px. */
  readonly sigmaPx: number;
  readonly biasPx: number;
  /** Both together, px. */
  readonly rmsPx: number;
  /** Over the least possible error. */
  readonly boundRatio: number;
  /** The estimator made ready. Give it the noise model and where the star is thought to be. */
  prepare(size: ImageSize, options?: EstimatorOptions): PreparedEstimator;
}

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

/** Room around a drawn star: its blur, times. */
const roomPerFwhm = 4;

/** Where in its pixel a drawn star stands: a quarter off is where the place in the pixel pulls most. */
const awkwardX = 0.25;
const awkwardY = 0.15;

/**
 * The estimator that locates a star best.
 *
 * The error of each estimator is predicted on the expected image (`predictError`), in a few apertures, thresholds and weights,
 * and compared with the least possible (`positionBound`): a few milliseconds, no frames. Of those that come within 3 % of the best
 * the simplest is taken, in the order centre of mass, thresholded, weighted, Gaussian fit, centre of symmetry, cross-correlation,
 * template fit. The last two are considered when a `template` is given. All of it is to first order: fainter than some 5 times its
 * error, a star is not rated.
 *
 * ```ts
 * const choice = chooseEstimator(
 *   { fwhmPx: 2.5, outerDiameterPx: 14, obstructionRatio: 0.35, fluxE: 8000 },
 *   { readNoiseE: 1.5, backgroundE: 12 },
 * )
 * if (choice.ok) {
 *   console.log(choice.why)
 *   const measure = choice.prepare({ width: 32, height: 32 }, { noise: { readNoiseE: 1.5 }, guess: { x: 16, y: 16 } })
 * }
 * ```
 * @param star  its expected image, or what is known of it; the image must hold it with room around
 * @returns the choice; or 'too-faint' (flux below 5 times its least error, or no estimator locates it), 'no-flux'
 * @throws RangeError or TypeError naming what is out of range
 */
export function chooseEstimator(
  star: RingStar | ImagedStar,
  camera: StarCamera,
  { template }: ChooseEstimatorOptions = {},
): EstimatorChoice | NotLocated {
  const noise = {
    readNoiseE: requireNonNegative('camera.readNoiseE', camera.readNoiseE),
    backgroundE: requireNonNegative('camera.backgroundE', camera.backgroundE ?? 0),
  };
  const backgroundSigma = requireNonNegative('camera.backgroundSigma', camera.backgroundSigma ?? 0);
  const { expected, at } = 'expected' in star ? checkImaged(star) : drawn(star);
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
        prepare: (size, options = {}) => prepareSetting(size, setting, options),
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

function checkImaged({ expected, at }: ImagedStar): ImagedStar {
  sizeOf(expected);
  requirePosition('star.at', at);
  return { expected, at };
}

function drawn(star: RingStar): ImagedStar {
  const { outerDiameterPx = 0, obstructionRatio = 0 } = star;
  requirePositive('star.fwhmPx', star.fwhmPx);
  requireNonNegative('star.fluxE', star.fluxE);
  if (!(outerDiameterPx >= 0 && outerDiameterPx <= 1000))
    throw new RangeError(`star.outerDiameterPx must be from 0 to 1000, got ${outerDiameterPx}`);
  if (!(obstructionRatio >= 0 && obstructionRatio < 1))
    throw new RangeError(`star.obstructionRatio must be in [0, 1), got ${obstructionRatio}`);
  const side = 2 * Math.ceil(outerDiameterPx / 2 + roomPerFwhm * star.fwhmPx) + 3;
  const middle = (side - 1) / 2;
  const pixels = drawRing(star, side, middle + awkwardX, middle + awkwardY);
  // The drawing may be a few thousandths of a pixel off: its own centre of mass is its centre.
  let sum = 0;
  let x = 0;
  let y = 0;
  for (let k = 0; k < pixels.length; k++) {
    sum += pixels[k];
    x += pixels[k] * (k % side);
    y += pixels[k] * Math.floor(k / side);
  }
  return {
    expected: ndarray(pixels, [side, side]),
    at: sum > 0 ? { x: x / sum, y: y / sum } : { x: 0, y: 0 },
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
