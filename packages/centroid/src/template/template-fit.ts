/** Maximum-likelihood fit of a star whose image is known but for position and flux. */
import { requireNames } from '@holdfast/psf/numerics';
import type { Image, ImageSize, NotLocated, PreparedEstimator } from '../pixels/centroid.ts';
import { sizeOf } from '../pixels/image-view.ts';
import type { StarTemplate, TemplateFamily } from './star-template.ts';
import {
  prepareTemplateEstimator,
  type TemplateLocated,
  type TemplateOptions,
  templateOptionNames,
} from './template-estimator.ts';
import { TemplateModel } from './template-model.ts';

/** How the picture is fitted to the star. */
export interface TemplateFitOptions extends TemplateOptions {
  /**
   * What the star looks like: an image of it, a plan that draws it (such as `prepareStar` returns), or a
   * family of either by one number, which is fitted too.
   */
  readonly template: StarTemplate | TemplateFamily;
}

/**
 * Position of a star by the maximum of the likelihood of  flux * template(column - x, row - y) + background.
 *
 *   d ~ Poisson(mu),   mu = model + background + backgroundE + R^2,   d = electrons + backgroundE + R^2
 *
 * where a normal read noise of variance R^2 is taken for a Poisson one of mean R^2 (Snyder, Hammoud & White
 * 1993, J. Opt. Soc. Am. A 10, 1014; from memory). This is the estimator that reaches the least possible
 * error (`positionBound`) on stars of any shape, rings above all, as long as that error is small against the
 * blur of the star's edges.
 *
 * The template is tabulated once, at 4 points per pixel or as finely as the image given; between them cubic
 * B-splines hold: right to 2e-5 of the peak for a plan of FWHM 2.5 px, 2e-4 at 1.5 px. An image at the
 * camera's own pixels is first interpolated by B-splines of degree 9, which is as good as its sampling: 3e-3
 * of the peak at FWHM 2.5 px, where a star's place among the pixels begins to be lost, 2e-4 for a ring of
 * that blur. The search for the best whole pixel takes unweighted least squares; from there it is Fisher
 * scoring. Pixels need not surround the star: those left out by `valid` or `radiusPx` do not pull.
 *
 * Predicted error: the inverse Fisher information at the fit. It holds for a star that looks like the
 * template; where `reducedChiSquare` is far above 1, it does not.
 *
 * ```ts
 * const plan = prepareStar({ kind: 'annulus', outerDiameterPx: 14, obstructionRatio: 0.35, blurFwhmPx: 2.5 }, size)
 * const measure = prepareTemplateFit(size, { template: plan, noise: { readNoiseE: 1.5 } })
 * const found = measure(stamp, { x: 16, y: 15 })
 * ```
 * @returns position in px; or 'too-few-pixels' (not more than unknowns), 'saturated', 'no-flux' (nothing that
 *          looks like the template stands out), 'not-converged' (iteration limit, or the parameter rests on
 *          an end of its range), 'outside', 'clipped' (half of the template's light beyond the pixels used),
 *          'too-faint'
 * @throws RangeError or TypeError naming the option that is out of range; without `noise` or `template`
 */
export function templateFit(image: Image, options: TemplateFitOptions): TemplateLocated | NotLocated {
  return prepareTemplateFit(sizeOf(image), options)(image);
}

/** {@link templateFit} made ready for many images of one size: the template is tabulated here. */
export function prepareTemplateFit(
  size: ImageSize,
  allOptions: TemplateFitOptions,
): PreparedEstimator<TemplateLocated> {
  const { template, ...options } = requireNames('options', allOptions, templateOptionNames, 'template');
  if (options.noise === undefined) throw new TypeError('templateFit needs noise, got none');
  return prepareTemplateEstimator(size, new TemplateModel(template), options, true);
}
