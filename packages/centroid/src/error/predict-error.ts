/**
 * What to expect of an estimator before any frame is taken: bias and error from the expected image and its
 * noise.
 */

import { requireObject, requireOneOf } from '@holdfast/psf/numerics';
import type { GaussianFitOptions } from '../gaussian/gaussian-fit.ts';
import type { QuadCellOptions } from '../moments/quad-cell.ts';
import type { WeightedOptions } from '../moments/weighted.ts';
import { type Image, notLocated } from '../pixels/centroid.ts';
import { requirePosition } from '../pixels/estimator-options.ts';
import { sizeOf } from '../pixels/image-view.ts';
import { type PointSymmetryOptions, prepareSymmetry } from '../symmetry/point-symmetry.ts';
import type { CrossCorrelationOptions } from '../template/cross-correlation.ts';
import type { TemplateFitOptions } from '../template/template-fit.ts';
import {
  type NotPredicted,
  type PredictErrorOptions,
  type PredictedError,
  predictMomentError,
} from './error-propagation.ts';
import { namedEstimators, type Own, prepareNamed } from './estimators-by-name.ts';

/** What describes star and noise, whatever the estimator. */
type Expectation = Pick<
  PredictErrorOptions,
  'at' | 'noise' | 'backgroundSigma' | 'guess' | 'radiusPx' | 'valid'
>;

/** An estimator that is neither a plain nor a thresholded center of mass, with its own options. */
export type PredictFitErrorOptions = Expectation &
  (
    | ({ readonly estimator: 'weightedCenterOfMass' } & Own<WeightedOptions>)
    | ({ readonly estimator: 'quadCell' } & Own<QuadCellOptions>)
    | ({ readonly estimator: 'gaussianFit' } & Own<GaussianFitOptions>)
    | ({ readonly estimator: 'crossCorrelation' } & Own<CrossCorrelationOptions>)
    | ({ readonly estimator: 'templateFit' } & Own<TemplateFitOptions>)
    | ({ readonly estimator: 'pointSymmetryCenter' } & Own<PointSymmetryOptions>)
  );

/**
 * Bias and scatter of an estimator for a star whose expected image is known.
 *
 * Center of mass, plain or thresholded: from mean, variance and third moment of what each pixel weighs, to
 * second order, in the whole image, a fixed window (\`recenter: 0\`) or one that follows the star. A square
 * window is the image cut to it.
 *
 * All others: the estimator itself on the expected image, whose noise it knows; to first order its mean
 * position is what it finds there, and its scatter the error that it predicts (of `pointSymmetryCenter` to
 * second order). That holds while the scatter is small against the blur of the star's edges.
 *
 * ```ts
 * const predicted = predictError(expected, {
 *   estimator: 'thresholdedCenterOfMass', at: { x: 15.3, y: 16 }, noise: { readNoiseE: 2, backgroundE: 12 }, radiusPx: 9,
 * })
 * ```
 * @param expected  the star's own expected electrons per pixel, without background
 * @returns bias and scatter; or the estimator's failure on the expected image; or, of a center of mass,
 *          'often-lost' (more than a tenth of the frames give no position) or 'too-uncertain' (the sum of the
 *          weights is below 2.8 times its own error)
 * @throws RangeError or TypeError naming the option that is out of range
 */
export function predictError(
  expected: Image,
  options: PredictErrorOptions | PredictFitErrorOptions,
): PredictedError | NotPredicted {
  requireOneOf('estimator', requireObject('options', options).estimator, namedEstimators);
  if (isOfMoments(options)) return predictMomentError(expected, options);
  const { at, ...named } = options;
  const { estimator, ...own } = named;
  requirePosition('at', at);
  const size = sizeOf(expected);
  const known = { guess: own.guess ?? at, noise: own.noise, minSnr: 0 };
  const measure =
    estimator === 'pointSymmetryCenter'
      ? prepareSymmetry(size, { ...own, ...known }, true)
      : prepareNamed(size, named, known);
  const found = measure(expected);
  if (!found.ok) return found;
  const { x, y, sigmaX, sigmaY, snr } = found;
  if (sigmaX === undefined || sigmaY === undefined || snr === undefined) return notLocated('not-converged');
  return { ok: true, biasX: x - at.x, biasY: y - at.y, sigmaX, sigmaY, snr };
}

const isOfMoments = (options: PredictErrorOptions | PredictFitErrorOptions): options is PredictErrorOptions =>
  options.estimator === 'centerOfMass' || options.estimator === 'thresholdedCenterOfMass';
