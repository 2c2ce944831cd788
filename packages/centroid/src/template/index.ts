/**
 * Fits with a picture of the star: template fit, cross-correlation, running template.
 *
 * template-fit        maximum-likelihood fit of a star whose image is known
 * cross-correlation   peak of the correlation with such an image
 * running-template    the same with the mean of earlier images of the star
 * mean-star           mean of star images at different places in a pixel
 * template-estimator  what all of these share: search, fit, checks, predicted error
 * template-search     best whole pixel to start the fit from
 * fast-correlation    correlation at every pixel at once, by Fourier transform
 * template-solver     the fit from there on, and its covariance
 * template-equations  sums over pixels for the fit: objective, gradient, curvature
 * template-model      one template, or a family of them by one parameter
 * template-table      a template as spline coefficients, and the star on pixels from them
 * star-template       what a caller gives: an image of a star, or a plan that renders it
 */

export {
  type CrossCorrelationOptions,
  crossCorrelation,
  prepareCrossCorrelation,
} from './cross-correlation.ts';
export {
  prepareRunningTemplate,
  type RunningTemplate,
  type RunningTemplateOptions,
} from './running-template.ts';
export type { StarTemplate, TemplateFamily, TemplateImage, TemplatePlan } from './star-template.ts';
export type { TemplateLocated, TemplateOptions } from './template-estimator.ts';
export { prepareTemplateFit, type TemplateFitOptions, templateFit } from './template-fit.ts';
export type { TemplateSearch } from './template-search.ts';
