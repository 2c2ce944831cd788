/**
 * Mathematics and argument checks that every package uses, written once. Internal: names may change in any version.
 *
 * require              checks of arguments, and what a bad call is told
 * exp-log              exponential and logarithm, the same to the last bit in every engine
 * phasor               sine and cosine of a phase in turns, likewise
 * quadrature           Gauss-Legendre points and weights
 * gaussian-integral    the integral of the unit Gaussian, from a table
 * b-spline             smooth curves through equally spaced values
 * levenberg-marquardt  minimum of a smooth function of a few unknowns
 * small-solve          symmetric systems of a few unknowns: Cholesky, inverse, covariance
 * normal-distribution  integral and density of the normal distribution from a table
 * quantile             median and other order statistics
 * summed-area          sums over rectangles
 * angle                unit vectors and angles with the same bits in every engine
 * straight-line        weighted straight line through points, with its covariance
 * monotone-cubic       a smooth curve through points that does not overshoot
 * fourier/             Fast Fourier transforms.
 */

export * from './angle.ts';
export * from './b-spline.ts';
export * from './exp-log.ts';
export * from './fourier/index.ts';
export * from './gaussian-integral.ts';
export * from './levenberg-marquardt.ts';
export * from './monotone-cubic.ts';
export * from './normal-distribution.ts';
export * from './phasor.ts';
export * from './quadrature.ts';
export * from './quantile.ts';
export * from './require.ts';
export * from './small-solve.ts';
export * from './straight-line.ts';
export * from './summed-area.ts';
