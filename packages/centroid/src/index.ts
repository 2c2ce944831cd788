/**
 * Star positions: estimators, their predicted error, and the least error possible. A map of the files:
 *
 * What all share
 *
 * centroid             what estimators take and return; failure reasons
 * estimator-options    the shared options, checked and filled in
 * valid-pixels         strides, masks, non-finite pixels, aperture, background: the pixels an estimator uses
 * star-window          the same about one star: guess and aperture settled
 * recentring           an aperture that follows the star
 * image-view           how an image lies in memory
 * first-guess          rough position and width of a star
 * require              checks of arguments
 *
 * Estimators: each exports x(image, options) and prepareX(size, options)
 *
 * center-of-mass       all the light
 * thresholded          the light above a threshold
 * weighted             all the light under a Gaussian weight that follows the star
 * weighted-sums        its sums and their errors
 * moment-estimator     the course of the plain and the thresholded one
 * moments              their sums and first-order errors
 * aperture-sums        the sums of one aperture straight from the image
 * quad-cell            which of four quadrants gets more light
 * mirror-symmetry      the point about which the star is most like itself
 * symmetry-peak        to a fraction of a pixel, and its error
 * half-turn            how unlike an image is to itself turned about a point
 * gaussian-fit         least squares or likelihood
 * gaussian-problem     the fit as a problem for the minimiser, and its covariance
 * gaussian-equations   sums over pixels of products of derivatives
 * gaussian-residuals   all sums of the fit without weights in one pass
 * pixel-gaussian       Gaussian integrated over pixels, with derivatives
 * fit-weighting        what is minimised: equal weights, noise, likelihood
 * template-fit         likelihood of a star whose image is known
 * cross-correlation    peak of the correlation with such an image
 * running-template     the same with the mean of the images before
 * mean-star            stars that stand at different places in a pixel, added up
 * template-estimator   the course that all of them take
 * template-search      where it fits best among whole pixels
 * fast-correlation     the same at every place at once, by Fourier transform
 * template-solver      from there to the end, and the covariance
 * template-equations   sums over pixels of products of derivatives
 * template-model       values and derivatives of a template, or of a family by one number
 * template-values      the same from one table
 * template-table       a template as coefficients of splines
 * star-template        an image of a star, or a plan that draws it
 *
 * Error without a frame
 *
 * choose-estimator     which estimator to take for a star, and why
 * estimator-settings   the apertures, thresholds and weights worth a try
 * ring-image           a ring, drawn roughly
 * position-bound       least possible error (Cramer-Rao)
 * predict-error        bias and error of every estimator
 * error-propagation    those of the plain and the thresholded centre of mass
 * threshold-noise      mean and variance of a pixel behind a threshold
 *
 * Whole frames
 *
 * background           level, slope and noise between the stars
 * locate-star          all stars of a frame, whatever their size
 * star-scales          where light stands out, at which scale
 * removed-light        light that was taken out of the frame, by rectangles
 * light-extent         centre, flux and size of one light
 * surroundings         level and slope around it
 * hot-pixels           single pixels that are no stars
 *
 * Mathematics
 *
 * b-spline             smooth curves through equally spaced values
 * levenberg-marquardt  minimum of a smooth function of a few unknowns
 * small-solve          symmetric systems of a few unknowns
 * normal-distribution  integral and density from a table
 * quantile             median and other order statistics
 * summed-area          sums over rectangles
 */
export {
  type Background,
  type BackgroundCenter,
  type BackgroundOptions,
  backgroundAt,
  backgroundDefaults,
  estimateBackground,
  type NoBackground,
} from './background.ts';
export { type CenterOfMassOptions, centerOfMass, prepareCenterOfMass } from './center-of-mass.ts';
export type {
  BackgroundLevel,
  Centroid,
  EstimatorOptions,
  FailureReason,
  Image,
  ImageSize,
  Located,
  NotLocated,
  PixelNoise,
  Position,
  PreparedEstimator,
} from './centroid.ts';
export {
  type ChooseEstimatorOptions,
  chooseEstimator,
  type EstimatorChoice,
  type ImagedStar,
  type RatedEstimator,
  type StarCamera,
} from './choose-estimator.ts';
export {
  type CrossCorrelationOptions,
  crossCorrelation,
  prepareCrossCorrelation,
} from './cross-correlation.ts';
export type { PredictErrorOptions, PredictedError } from './error-propagation.ts';
export { estimatorDefaults } from './estimator-options.ts';
export type { EstimatorSetting } from './estimator-settings.ts';
export type { FitWeighting } from './fit-weighting.ts';
export {
  type GaussianFitOptions,
  type GaussianLocated,
  type GaussianUnknown,
  gaussianFit,
  gaussianFitDefaults,
  prepareGaussianFit,
} from './gaussian-fit.ts';
export { type FoundStar, type LocateStarOptions, locateStar, locateStarDefaults } from './locate-star.ts';
export {
  type MirrorSymmetryLocated,
  type MirrorSymmetryOptions,
  mirrorSymmetryCenter,
  mirrorSymmetryDefaults,
  prepareMirrorSymmetryCenter,
} from './mirror-symmetry.ts';
export {
  type ExpectedStar,
  type FrameNoise,
  type PositionBound,
  type PositionBoundOptions,
  positionBound,
} from './position-bound.ts';
export { type PredictFitErrorOptions, predictError } from './predict-error.ts';
export { prepareQuadCell, type QuadCellOptions, quadCell, quadCellDefaults } from './quad-cell.ts';
export { type ApertureOptions, apertureDefaults } from './recentring.ts';
export type { RingStar } from './ring-image.ts';
export {
  prepareRunningTemplate,
  type RunningTemplate,
  type RunningTemplateOptions,
  runningTemplateDefaults,
} from './running-template.ts';
export type { StarTemplate, TemplateFamily, TemplateImage, TemplatePlan } from './star-template.ts';
export { type TemplateLocated, type TemplateOptions, templateDefaults } from './template-estimator.ts';
export { prepareTemplateFit, type TemplateFitOptions, templateFit } from './template-fit.ts';
export type { TemplateSearch } from './template-search.ts';
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
