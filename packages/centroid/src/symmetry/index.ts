/**
 * The point about which a star equals itself after half a turn.
 *
 * point-symmetry  the estimator: finds that point, and says why there is none
 * symmetry-peak    finds it to a fraction of a pixel, and its error
 * half-turn        measures how an image differs from itself, turned about a point
 * line-weights     smoothing and interpolation along a line of values
 */
export {
  type PointSymmetryLocated,
  type PointSymmetryOptions,
  pointSymmetryCenter,
  preparePointSymmetryCenter,
} from './point-symmetry.ts';
