/**
 * Centers of mass: plain, thresholded, weighted; the quad cell.
 *
 * center-of-mass    all the light
 * thresholded       the light above a threshold
 * weighted          all the light under a Gaussian weight that follows the star
 * weighted-sums     its sums and their errors
 * moment-estimator  the course of the plain and the thresholded one
 * moments           their sums and first-order errors
 * aperture-sums     the sums of one aperture straight from the image
 * quad-cell         which of four quadrants gets more light
 */
export { type CenterOfMassOptions, centerOfMass, prepareCenterOfMass } from './center-of-mass.ts';
export { prepareQuadCell, type QuadCellOptions, quadCell, quadCellDefaults } from './quad-cell.ts';
export {
  prepareThresholdedCenterOfMass,
  type ThresholdedOptions,
  type ThresholdForm,
  thresholdedCenterOfMass,
  thresholdedDefaults,
} from './thresholded.ts';
export {
  prepareWeightedCenterOfMass,
  type WeightedOptions,
  weightedCenterOfMass,
  weightedDefaults,
} from './weighted.ts';
