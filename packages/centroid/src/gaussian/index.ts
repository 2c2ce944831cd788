/**
 * The Gaussian fit, by least squares or maximum likelihood.
 *
 * gaussian-fit        the fit: options, start, result, predicted error
 * gaussian-problem    the fit as a problem for the minimizer, and its covariance
 * gaussian-equations  sums over pixels for it: gradient and Hessian
 * pixel-gaussian      a Gaussian integrated over pixels, with its derivatives
 * fit-weighting       what is minimized: equal weights, noise, likelihood
 */

export type { FitWeighting } from './fit-weighting.ts';
export {
  type GaussianFitOptions,
  type GaussianLocated,
  type GaussianUnknown,
  gaussianFit,
  prepareGaussianFit,
} from './gaussian-fit.ts';
