/**
 * From optics to a camera frame. A map of the files:
 *
 * Stars by geometric optics, off axis, moved
 *
 * coma              the comet of an off-axis star, with defocus
 * ray-spot          the rays of any wavefront over any pupil
 * spot-diagram      rays made into light: blurred, on pixels
 * blur-quadrature   how many points a blurred picture needs
 * off-axis          coma, astigmatism and field curvature by telescope design
 * glass-plate       spherical aberration of a filter or window
 * trailed           any star smeared by its motion during the exposure
 * star-group        any star with its neighbours
 *
 * Stars by waves
 *
 * diffraction           any pupil and wavefront, a wavelength or a band, through the air
 * diffraction-sampling  how finely it must be calculated, over how wide a field
 * image-spectrum        the Fourier coefficients of the image, pixel and air included
 * spectrum-image        from these to pixels, for a star at any position
 * accuracy              what a diffraction image may get wrong, and what it may cost
 * pupil                 aperture, obstruction, vanes, clipping edge, pick-off footprint, illumination
 * pupil-rows            where lines across it are open, exactly
 * pupil-moments         how much light passes, its centre and spread
 * pupil-grid            cells with grey edges, and the wave that comes through them
 * wavefront             focus shift, Zernike and Seidel terms in one sum
 * wavefront-moments     where the centre of mass lands, rms, light on the axis
 * zernike               Zernike polynomials by Noll's index
 * seeing                Fried parameter, FWHM, long exposure, image motion
 * von-karman            turbulence with an outer scale
 * fourier               fast transforms, the only user of fft.js
 * phasor                cosine and sine with the same bits everywhere
 *
 * Moving air
 *
 * phase-screen      a random sky over the pupil, carried along by the wind
 * long-waves        its waves longer than a tile, drawn one by one
 * screen-tile       its short waves, by FFT
 * turbulence        the spectrum and the structure function of both
 * short-exposure    a star in a short exposure: speckles, image motion and its true path
 * summed-image      the image summed over moments
 * mean-slope        where the centre of mass of an image lies, from the wavefront
 * pixel-transfer    what pixels do to the waves of an image
 */
export { type DiffractionAccuracy, defaultDiffractionAccuracy } from './accuracy.ts';
export type { AnnulusShape } from './annulus.ts';
export { type Band, type BandName, bands } from './bands.ts';
export {
  aduToElectrons,
  type Camera,
  defaultCamera,
  type Exposure,
  exposeFrame,
  frameToAdu,
  pixelNoiseE,
  prepareExposure,
  saturationE,
} from './camera.ts';
export { type ComaShape, comaCentroidOffset } from './coma.ts';
export { type DepthOfFocusCriterion, type DepthOfFocusOptions, depthOfFocusUm } from './depth-of-focus.ts';
export { type DiffractionSeeing, type DiffractionShape, diffractionSampling } from './diffraction.ts';
export type { DiffractionSampling } from './diffraction-sampling.ts';
export { exp, log } from './exp-log.ts';
export type { GaussianShape } from './gaussian.ts';
export { type Glass, type GlassPlateOptions, glassFocusShiftUm, glassIndex } from './glass.ts';
export { type GlassPlateAberration, glassPlateAberration } from './glass-plate.ts';
export { createImage, type Image, imageHeight, imagePixels, imageWidth } from './image.ts';
export type { BandSample } from './image-spectrum.ts';
export {
  type MoffatProfile,
  type MoffatShape,
  moffatAlpha,
  moffatEncircledEnergy,
  moffatNoiseEquivalentArea,
} from './moffat.ts';
export {
  type CassegrainOptions,
  type CorrectedOptions,
  type OffAxisAberrations,
  type OffAxisOptions,
  offAxisAberrations,
  type ParaboloidOptions,
} from './off-axis.ts';
export {
  airyFwhmUm,
  type DefocusBlur,
  type DefocusOptions,
  defocusBlur,
  fNumber,
  focusShiftFromRing,
  plateScaleArcsecPerPx,
} from './optics.ts';
export { type PhaseScreen, type PhaseScreenOptions, preparePhaseScreen } from './phase-screen.ts';
export {
  type LightCollection,
  type SkyLight,
  type StarLight,
  skyElectronsPerPx,
  starElectrons,
} from './photometry.ts';
export type { ClipEdge, Footprint, Illumination, Pupil, Vanes } from './pupil.ts';
export { pupilGrid } from './pupil-grid.ts';
export { type PupilMoments, pupilMoments } from './pupil-moments.ts';
export { type RandomStream, randomStream, type StreamLabel } from './random.ts';
export { type RayShape, raySpots } from './ray-spot.ts';
export { prepareStar, type RenderOptions, renderStar, type StarPlan, type StarShape } from './render-star.ts';
export {
  friedParameterMm,
  type ImageMotionOptions,
  imageMotionArcsec,
  type Seeing,
  seeingFwhmArcsec,
  seeingTransfer,
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
export type { SpotDiagram } from './spot-diagram.ts';
export type { Neighbour, StarGroupShape } from './star-group.ts';
export { magnitudeError, type StarSnrOptions, snrOfStar } from './star-snr.ts';
export type { PathPoint, StraightDrift, TrailedShape } from './trailed.ts';
export { phaseStructure } from './turbulence.ts';
export { type SeidelTerms, type Wavefront, wavefrontZernikes } from './wavefront.ts';
export {
  type LightCentroid,
  lightCentroid,
  type PupilWave,
  strehlRatio,
  wavefrontRmsNm,
} from './wavefront-moments.ts';
export { nollIndex, type ZernikeOrder, zernikeOrder, zernikeValue } from './zernike.ts';
