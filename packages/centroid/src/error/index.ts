/**
 * Errors without a frame: least possible error, predicted errors, which estimator to choose.
 *
 * choose-estimator    says which estimator to take for a star, and why
 * estimator-settings  lists the windows, thresholds and weights worth a try
 * estimators-by-name  makes the estimator of a name ready
 * position-bound      gives the least possible error (Cramer-Rao)
 * predict-error       predicts bias and error of every estimator
 * error-propagation   predicts those of the plain and the thresholded center of mass, to second order
 */
export {
  type ChooseEstimatorOptions,
  chooseEstimator,
  type EstimatorChoice,
  type ImagedStar,
  type RatedEstimator,
  type StarCamera,
} from './choose-estimator.ts';
export type { NotPredicted, PredictErrorOptions, PredictedError } from './error-propagation.ts';
export type { EstimatorCandidate } from './estimator-settings.ts';
export {
  type ExpectedStar,
  type PositionBound,
  type PositionBoundOptions,
  positionBound,
} from './position-bound.ts';
export { type PredictFitErrorOptions, predictError } from './predict-error.ts';
