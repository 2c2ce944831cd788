/**
 * Centers of mass: plain, thresholded, weighted; the quad cell.
 *
 * center-of-mass    measures all the light
 * thresholded       measures the light above a threshold
 * threshold-noise   gives the moments of a noisy pixel of which a threshold takes a part
 * weighted          measures the light under a Gaussian weight that follows the star
 * weighted-sums     adds up what the weighted one needs, and its errors
 * moment-estimator  the steps that the plain and the thresholded one share
 * moments           adds up what these two need, and their first-order errors
 * follow            tells how far the result follows a window of whole pixels
 * quad-cell         compares the light of four quadrants
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
