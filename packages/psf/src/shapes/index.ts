/**
 * Star shapes. Each renders the light of one star, integrated over the pixels.
 *
 * render-star      the entry for all shapes: `renderStar`, `prepareStar`
 * star-shape       the shapes by kind, and those made of others
 * star-plan        what every prepared shape can do
 * gaussian         Gaussian star
 * moffat           Moffat star: a core with wide wings
 * moffat-integral  how a Moffat star is integrated over pixels
 * ellipse          long and short axis of a Gaussian or Moffat star, at any angle
 * annulus          annular defocus: the ring of a star out of focus
 * coma             comet of an off-axis star, with defocus
 * ray-spot         geometric image of any wavefront over any pupil
 * table            a star given as a table of light
 * own-shape        a star drawn by a program of your own
 * trailed          any star smeared by motion during the exposure
 * star-group       any star with its neighbors
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
export type { OwnShape } from './own-shape.ts';
export { type RayShape, raySpots } from './ray-spot.ts';
export { prepareStar, type RenderOptions, renderStar } from './render-star.ts';
export type { ImageSize, ShapePlan, StarPlan } from './star-plan.ts';
export type {
  Neighbor,
  PathPoint,
  StarGroupShape,
  StarShape,
  StraightDrift,
  TrailedShape,
} from './star-shape.ts';
export type { TableShape } from './table.ts';
