/**
 * What all estimators share: results, options, pixels in use, background, first guess.
 *
 * centroid           what an estimator takes and returns; failure reasons
 * estimator-options  the shared options, checked and completed
 * valid-pixels       the pixels an estimator uses: mask, finite values, window, background taken off
 * window-sums      first moments of one window, straight from the image
 * star-window        the window about one star, with its guess
 * image-view         memory layout of an image
 * first-guess        rough position and width of a star
 * recentering         a window that follows the star
 * background         level, slope and noise between the stars
 */

export {
  type Background,
  type BackgroundCenter,
  type BackgroundOptions,
  backgroundAt,
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
  Noise,
  NotLocated,
  Position,
  PreparedEstimator,
} from './centroid.ts';
export type { RecenterOptions } from './recentering.ts';
