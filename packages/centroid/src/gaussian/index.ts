/**
 * The Gaussian fit.
 *
 * gaussian-fit        least squares or likelihood
 * gaussian-problem    the fit as a problem for the minimiser, and its covariance
 * gaussian-equations  sums over pixels of products of derivatives
 * gaussian-residuals  all sums of the fit without weights in one pass
 * pixel-gaussian      Gaussian integrated over pixels, with derivatives
 * fit-weighting       what is minimised: equal weights, noise, likelihood
 */

export type { FitWeighting } from './fit-weighting.ts';
export {
  type GaussianFitOptions,
  type GaussianLocated,
  type GaussianUnknown,
  gaussianFit,
  gaussianFitDefaults,
  prepareGaussianFit,
} from './gaussian-fit.ts';
