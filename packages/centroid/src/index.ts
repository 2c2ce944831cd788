/**
 * Star positions: estimators, their predicted error, and the least error possible. Each folder opens with a map of its own.
 *
 * pixels/    What all estimators share: result types, options, the pixels in use, background, first guess.
 * moments/   Centers of mass: plain, thresholded, weighted; the quad cell.
 * gaussian/  The Gaussian fit.
 * template/  Fits with a picture of the star: template fit, cross-correlation, running template.
 * symmetry/  The point about which a star equals itself after half a turn.
 * error/     Errors without a frame: least possible error, predicted errors, which estimator to choose.
 * search/    Finding all stars of a frame.
 */

export * from './error/index.ts';
export * from './gaussian/index.ts';
export * from './moments/index.ts';
export * from './pixels/index.ts';
export * from './search/index.ts';
export * from './symmetry/index.ts';
export * from './template/index.ts';
