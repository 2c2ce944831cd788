/**
 * Star positions: estimators, their predicted error, the least possible error. Each folder opens with a map
 * of its own.
 *
 * ```text
 * moments/   centers of mass (plain, thresholded, weighted) and the quad cell
 * gaussian/  Gaussian fit
 * template/  template fit, cross-correlation, running template
 * symmetry/  center of point symmetry
 * search/    finding all stars of a frame
 * error/     least possible error, predicted errors, choice of an estimator
 * guide/     one star followed from frame to frame, for a guiding loop
 * contract   ('@holdfast/centroid/contract') what every estimator promises, to be checked on your own
 * internal   ('@holdfast/centroid/internal') what the sister packages need besides; no promise of stability
 * pixels/    what all estimators share: results, options, pixels in use, background
 * ```
 *
 * @module @holdfast/centroid
 */

export * from './error/index.ts';
export * from './gaussian/index.ts';
export * from './guide/index.ts';
export * from './moments/index.ts';
export * from './pixels/index.ts';
export * from './search/index.ts';
export * from './symmetry/index.ts';
export * from './template/index.ts';
