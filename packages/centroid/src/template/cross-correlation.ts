/** Position by the peak of the cross-correlation with a template. */
import { requireNames } from '@holdfast/psf/numerics';
import type { Image, ImageSize, NotLocated, PreparedEstimator } from '../pixels/centroid.ts';
import { sizeOf } from '../pixels/image-view.ts';
import type { StarTemplate } from './star-template.ts';
import {
  prepareTemplateEstimator,
  type TemplateLocated,
  type TemplateOptions,
  templateOptionNames,
} from './template-estimator.ts';
import { TemplateModel } from './template-model.ts';

/** How the star is compared with its picture. */
export interface CrossCorrelationOptions extends TemplateOptions {
  /** What the star looks like: an image of it, or a plan that draws it (such as `prepareStar` returns). */
  readonly template: StarTemplate;
}

/**
 * Position of a star by the peak of its normalized cross-correlation with a template T.
 *
 *   C(x, y) = sum(v (T - mean T)) / sqrt(sum((T - mean T)^2)),   v = electrons - background,   T = T(column - x, row - y)
 *
 * over the pixels used; without the means where `fitBackground` is false. T is moved continuously, so the
 * peak is not that of a parabola through three samples. It is the same place as the unweighted least-squares
 * fit of flux * T + background. Against a strong background it reaches the least possible error; where the
 * star's own photons are the noise, the bright pixels count too much: its variance is 16/9 of the least
 * possible for a Gaussian, 1.6 for a wide ring. It asks for no noise model, and takes a template that is only
 * roughly right without bias, as long as both are symmetric.
 *
 * The correlation is taken at the whole pixels within `searchPx` of the guess, summed directly or by Fourier
 * transform (`search`), and followed by Newton steps from the best of them. For the template see
 * {@link templateFit}.
 *
 * Predicted error: covariance A^-1 B A^-1 as for the Gaussian fit, the curvature that the residuals add to A
 * included.
 *
 * ```ts
 * const found = crossCorrelation(stamp, { template: { image: earlier, x: 15.2, y: 16.1 }, guess: { x: 15, y: 16 } })
 * ```
 * @returns position in px; or the failures of `templateFit`
 * @throws RangeError or TypeError naming the option that is out of range; without `template`
 */
export function crossCorrelation(
  image: Image,
  options: CrossCorrelationOptions,
): TemplateLocated | NotLocated {
  return prepareCrossCorrelation(sizeOf(image), options)(image);
}

/** {@link crossCorrelation} made ready for many images of one size: the template is tabulated here. */
export function prepareCrossCorrelation(
  size: ImageSize,
  allOptions: CrossCorrelationOptions,
): PreparedEstimator<TemplateLocated> {
  const { template, ...options } = requireNames('options', allOptions, templateOptionNames, 'template');
  if (template !== null && typeof template === 'object' && 'templateAt' in template)
    throw new TypeError('crossCorrelation takes one template, got a family: templateFit fits one');
  return prepareTemplateEstimator(size, new TemplateModel(template), options, false);
}
