/**
 * Moving air: the blur of a long exposure, and short exposures through frozen turbulence.
 *
 * seeing          the blur of a long exposure, the motion of a short one
 * turbulence      how rough the air makes a wave: its spectrum and structure function
 * von-karman      the structure function with an outer scale
 * phase-screen    a random sky over the pupil, carried along by the wind
 * long-waves      its waves longer than a tile, drawn one by one
 * screen-tile     its short waves, by FFT
 * short-exposure  a star in a short exposure: speckles, image motion and its true path
 */

export {
  type PhaseScreen,
  type PhaseScreenOptions,
  preparePhaseScreen,
  type ScreenWindow,
} from './phase-screen.ts';
export {
  friedParameterMm,
  type ImageMotionOptions,
  imageMotionArcsec,
  type Seeing,
  seeingFwhmArcsec,
  seeingTransfer,
  seeingWavelengthNm,
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
export { phaseStructure } from './turbulence.ts';
