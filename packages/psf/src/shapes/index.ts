/**
 * Star shapes: each draws the light of one star, integrated over the pixels.
 *
 * render-star      one way to draw every star: `renderStar`, `prepareStar`
 * star-shape       every shape by its kind, with the two that are made of others
 * star-plan        what each shape makes of itself, drawn into any image
 * gaussian         the Gaussian star
 * moffat           the Moffat star: a core with wide wings
 * moffat-integral  its profile integrated along a line, from a table
 * moffat-rules     how finely it is integrated across a row of pixels
 * ellipse          long and short axis of either, at any angle
 * annulus          the ring of a star out of focus
 * coma             the comet of an off-axis star, with defocus
 * ray-spot         the rays of any wavefront over any pupil
 * trailed          any star smeared by its motion during the exposure
 * star-group       any star with its neighbours
 */

export type { AnnulusShape } from './annulus.ts';
export { type ComaShape, comaCentroidOffset } from './coma.ts';
export type { Elliptical } from './ellipse.ts';
export type { GaussianShape } from './gaussian.ts';
export {
  type MoffatProfile,
  type MoffatShape,
  moffatAlpha,
  moffatEncircledEnergy,
  moffatNoiseEquivalentArea,
} from './moffat.ts';
export { type RayShape, raySpots } from './ray-spot.ts';
export { prepareStar, type RenderOptions, renderStar } from './render-star.ts';
export type { StampSize, StarPlan } from './star-plan.ts';
export type {
  Neighbour,
  PathPoint,
  StarGroupShape,
  StarShape,
  StraightDrift,
  TrailedShape,
} from './star-shape.ts';
