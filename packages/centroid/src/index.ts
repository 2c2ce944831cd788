export { centerOfMass, prepareCenterOfMass } from './center-of-mass.ts';
export * from './centroid.ts';
export { predictError } from './error-propagation.ts';
export { gaussianFit, prepareGaussianFit } from './gaussian-fit.ts';
export { positionBound } from './position-bound.ts';
export { prepareThresholdedCenterOfMass, thresholdedCenterOfMass } from './thresholded.ts';
export { estimateBackground } from './background.ts';
export { locateStar } from './locate-star.ts';
