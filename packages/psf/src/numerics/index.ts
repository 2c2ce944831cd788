/**
 * Mathematics and argument checks that all packages use. Internal: names may change in any version.
 *
 * require              argument checks: what a bad call throws
 * require-image        an image as it must be before its pixels are read
 * options              options by their names: an unknown one is refused, with the nearest that is known
 * exp-log              exponential and logarithm with the same bits in every engine
 * angle                sine and cosine, unit vectors, angles between directions, with the same bits in every engine
 * normal-distribution  integral and density of the normal distribution
 * quadrature           Gauss-Legendre points and weights
 * quantile             median and other order statistics
 * small-solve          Cholesky factor, solution, inverse and covariance for a few unknowns
 * levenberg-marquardt  minimum of a smooth function of a few unknowns
 * straight-line        weighted straight line through points, with its covariance
 * monotone-cubic       smooth curve through points that does not overshoot
 * b-spline             smooth curve or surface through equally spaced values
 * summed-area          sum over any rectangle of an image in four look-ups
 * fourier/             fast Fourier transforms
 * kernel (beside)      the compiled loop of the search for stars
 */

export { createBoxLoops } from '../kernel/index.ts';
export * from './angle.ts';
export * from './b-spline.ts';
export * from './exp-log.ts';
export * from './fourier/index.ts';
export * from './levenberg-marquardt.ts';
export * from './monotone-cubic.ts';
export * from './normal-distribution.ts';
export * from './options.ts';
export * from './quadrature.ts';
export * from './quantile.ts';
export * from './require.ts';
export * from './require-image.ts';
export * from './small-solve.ts';
export * from './straight-line.ts';
export * from './summed-area.ts';
