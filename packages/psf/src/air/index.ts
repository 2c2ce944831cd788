/**
 * Seeing: atmospheric turbulence, as an average and as single short exposures.
 *
 * seeing          blur of a long exposure, image motion of a short one
 * turbulence      spectrum and structure function of turbulence (Kolmogorov)
 * von-karman      structure function with an outer scale
 * phase-screen    random wavefronts over the pupil, moved by the wind
 * long-waves      waves of a phase screen that are longer than its tile
 * screen-tile     the shorter waves, by Fourier transform
 * renewal         amplitudes of either, replaced bit by bit as the screen travels
 * short-exposure  a star in one short exposure: speckles and image motion
 */

export {
  friedParameterMm,
  type ImageMotionOptions,
  imageMotionArcsec,
  type Seeing,
  seeingFwhmArcsec,
  type TiltMeasure,
} from './seeing.ts';
export {
  type AirMotion,
  prepareShortExposure,
  type ShortExposureOptions,
  type ShortExposurePlan,
  type StarAt,
  shortExposure,
} from './short-exposure.ts';
