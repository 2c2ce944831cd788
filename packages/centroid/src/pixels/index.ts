/**
 * What all estimators share: result types, options, the pixels in use, background, first guess.
 *
 * centroid           what estimators take and return; failure reasons
 * estimator-options  the shared options, checked and filled in
 * valid-pixels       strides, masks, non-finite pixels, aperture, background: the pixels an estimator uses
 * aperture-sums      the first moments of one aperture straight from the image
 * star-window        the same about one star: guess and aperture settled
 * image-view         how an image lies in memory
 * first-guess        rough position and width of a star
 * recentring         an aperture that follows the star
 * background         level, slope and noise between the stars
 * require            checks of arguments
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
export { estimatorDefaults } from './estimator-options.ts';
export { type ApertureOptions, apertureDefaults } from './recentring.ts';
