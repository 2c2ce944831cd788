/**
 * Centers of mass: plain, thresholded, weighted; the quad cell.
 *
 * center-of-mass    all the light
 * thresholded       the light above a threshold
 * threshold-noise   mean and variance of a noisy pixel behind a threshold
 * weighted          all the light under a Gaussian weight that follows the star
 * weighted-sums     its sums and their errors
 * moment-estimator  the course of the plain and the thresholded one
 * moments           their sums and first-order errors
 * follow            how the result follows an aperture of whole pixels
 * quad-cell         which of four quadrants gets more light
 */
export { type CenterOfMassOptions, centerOfMass, prepareCenterOfMass } from './center-of-mass.ts';
export { prepareQuadCell, type QuadCellOptions, quadCell } from './quad-cell.ts';
export type { ThresholdForm } from './threshold-noise.ts';
export {
  prepareThresholdedCenterOfMass,
  type ThresholdedOptions,
  thresholdedCenterOfMass,
} from './thresholded.ts';
export { prepareWeightedCenterOfMass, type WeightedOptions, weightedCenterOfMass } from './weighted.ts';
