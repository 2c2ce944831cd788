/**
 * Fits with a picture of the star: template fit, cross-correlation, running template.
 *
 * template-fit        likelihood of a star whose image is known
 * cross-correlation   peak of the correlation with such an image
 * running-template    the same with the mean of the images before
 * mean-star           stars that stand at different places in a pixel, added up
 * template-estimator  the course that all of them take
 * template-search     where it fits best among whole pixels
 * fast-correlation    the same at every place at once, by Fourier transform
 * template-solver     from there to the end, and the covariance
 * template-equations  sums over pixels of products of derivatives
 * template-model      values and derivatives of a template, or of a family by one number
 * template-values     the same from one table
 * template-table      a template as coefficients of splines
 * star-template       an image of a star, or a plan that draws it
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
  runningTemplateDefaults,
} from './running-template.ts';
export type { StarTemplate, TemplateFamily, TemplateImage, TemplatePlan } from './star-template.ts';
export { type TemplateLocated, type TemplateOptions, templateDefaults } from './template-estimator.ts';
export { prepareTemplateFit, type TemplateFitOptions, templateFit } from './template-fit.ts';
export type { TemplateSearch } from './template-search.ts';
