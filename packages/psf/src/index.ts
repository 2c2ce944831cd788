/**
 * From optics to a camera frame. A map of the files:
 *
 * Image, arguments, arithmetic
 *
 * image                 the array that passes between all parts; the only place that looks at strides
 * require               checks of arguments, and what a bad call is told
 * exp-log               exponential and logarithm, the same to the last bit in every engine
 * phasor                sine and cosine of a phase in turns, likewise
 * quadrature            Gauss-Legendre points and weights
 *
 * Star shapes
 *
 * render-star           one way to draw every star: `renderStar`, `prepareStar`
 * star-plan             what each shape makes of itself, drawn into any image
 * gaussian              the Gaussian star
 * gaussian-integral     the integral of the unit Gaussian, from a table
 * moffat                the Moffat star: a core with wide wings
 * moffat-integral       its profile integrated along a line, from a table
 * moffat-rules          how finely it is integrated across a row of pixels
 * ellipse               long and short axis of either, at any angle
 * annulus               the ring of a star out of focus
 * blurred-disc          discs blurred by a Gaussian, by points of their edge
 * blurred-edge          a point and a step, blurred and integrated over pixels
 * circle-overlap        the area that a circle shares with each pixel
 * coma                  the comet of an off-axis star, with defocus
 * ray-spot              the rays of any wavefront over any pupil
 * spot-diagram          rays made into light: blurred, on pixels
 * blur-quadrature       how many points a blurred picture needs
 * diffraction           the star as waves make it
 * trailed               any star smeared by its motion during the exposure
 * star-group            any star with its neighbours
 *
 * Wave optics
 *
 * pupil                 what the light passes: obstruction, vanes, edges, uneven illumination
 * pupil-rows            where on a line through it the light passes
 * pupil-moments         how much light it passes, its middle and its spread
 * pupil-grid            the wave in it on a grid of cells with grey edges
 * wavefront             focus shift, Zernike and Seidel terms as one wave
 * zernike               Zernike polynomials by Noll's index
 * wavefront-moments     where the centre of mass of the light lands, and how sharp the wave is
 * diffraction-sampling  how finely and how widely a diffraction image is calculated
 * accuracy              what it may get wrong, and what it may cost
 * image-spectrum        its Fourier coefficients, seeing and pixels included
 * pixel-transfer        what pixels do to the waves of an image
 * spectrum-image        from the coefficients to pixels, at any position
 * wave-to-light         from the wave in the pupil to the light, and to its Fourier coefficients
 * radix-passes          the passes of a fast Fourier transform over lines side by side
 * radix-8               those of eight, written out
 * fourier               fast Fourier transforms; the only place that knows fft.js
 *
 * Optics, on the axis and off it
 *
 * optics                F-number, plate scale, ring diameter, waves of defocus
 * depth-of-focus        how far out of focus counts as blurred
 * glass                 how far a plate of glass moves the focus
 * glass-plate           the spherical aberration of a filter or window
 * off-axis              coma, astigmatism and field curvature by telescope design
 *
 * Moving air
 *
 * seeing                the blur of a long exposure, the motion of a short one
 * turbulence            how rough the air makes a wave: its spectrum and structure function
 * von-karman            the structure function with an outer scale
 * phase-screen          a random sky over the pupil, carried along by the wind
 * long-waves            its waves longer than a tile, drawn one by one
 * screen-tile           its short waves, by FFT
 * short-exposure        a star in a short exposure: speckles, image motion and its true path
 * summed-image          the image summed over moments
 * mean-slope            where the centre of mass of an image lies, from the wavefront
 *
 * Light
 *
 * bands                 photons of a star of magnitude 0, band by band
 * photometry            from magnitudes to electrons of star and sky background
 * star-snr              how clearly a star stands out of its noise
 *
 * Camera
 *
 * camera                a camera at one setting: noise, limits, pixels
 * exposure              frames of it: from expected electrons to what it reports
 * collect-charge        from light to what each pixel holds and delivers
 * read-out              from there to whole numbers, and back to electrons
 * one-draw              frames by one look into a table for each pixel: the fast way for many
 * pixel-tables          what a pixel reports, noise and rounding included, as one distribution
 * adu                   between electrons and the numbers of the output
 * binning               squares of pixels as one
 * sensor-pixels         what is fixed in the pixels of one sensor
 * sensor-map            a number for each pixel of a sensor, the same on every frame
 * fixed-pattern         response and offset from pixel to pixel
 * hot-pixels            pixels with a dark current of their own
 * read-noise-tail       pixels of more read noise than the others
 * non-linearity         what is lost near the full well
 * cosmic-rays           muons and their tracks
 *
 * Chance
 *
 * random                streams of random numbers, named by a seed and labels
 * uniform               random bits and uniform numbers
 * xoshiro               the generator of streams by number
 * normal                normal numbers
 * poisson               Poisson counts
 * condensed-tables      any discrete distribution by looking it up
 */
export { type DiffractionAccuracy, defaultDiffractionAccuracy } from './accuracy.ts';
export { aduToElectrons, frameToAdu } from './adu.ts';
export type { AnnulusShape } from './annulus.ts';
export { type Band, type BandName, bands } from './bands.ts';
export type { Binning } from './binning.ts';
export { binFrame } from './binning.ts';
export { type Camera, defaultCamera, pixelNoiseE, saturationE } from './camera.ts';
export { type ComaShape, comaCentroidOffset } from './coma.ts';
export type { CosmicRays } from './cosmic-rays.ts';
export { type DepthOfFocusCriterion, type DepthOfFocusOptions, depthOfFocusUm } from './depth-of-focus.ts';
export { type DiffractionSeeing, type DiffractionShape, diffractionSampling } from './diffraction.ts';
export type { DiffractionSampling } from './diffraction-sampling.ts';
export type { Elliptical } from './ellipse.ts';
export { exp, log } from './exp-log.ts';
export { type Exposure, exposeFrame, prepareExposure } from './exposure.ts';
export type { GaussianShape } from './gaussian.ts';
export { type Glass, type GlassPlateOptions, glassFocusShiftUm, glassIndex } from './glass.ts';
export { type GlassPlateAberration, glassPlateAberration } from './glass-plate.ts';
export type { HotPixels } from './hot-pixels.ts';
export { createImage, type Image, imageHeight, imagePixels, imageWidth } from './image.ts';
export type { BandSample } from './image-spectrum.ts';
export {
  type MoffatProfile,
  type MoffatShape,
  moffatAlpha,
  moffatEncircledEnergy,
  moffatNoiseEquivalentArea,
} from './moffat.ts';
export type { NonLinearity } from './non-linearity.ts';
export { collectedE, deliveredE } from './non-linearity.ts';
export {
  type CassegrainOptions,
  type CorrectedOptions,
  type OffAxisAberrations,
  type OffAxisOptions,
  offAxisAberrations,
  type ParaboloidOptions,
} from './off-axis.ts';
export { type OneDraw, type PreparedLight, prepareOneDraw } from './one-draw.ts';
export {
  airyFwhmUm,
  type DefocusBlur,
  type DefocusOptions,
  defocusBlur,
  fNumber,
  focusShiftFromRing,
  plateScaleArcsecPerPx,
} from './optics.ts';
export {
  type PhaseScreen,
  type PhaseScreenOptions,
  preparePhaseScreen,
  type ScreenWindow,
} from './phase-screen.ts';
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
export { numberedStreams, type RandomStream, randomStream, type StreamLabel } from './random.ts';
export { type RayShape, raySpots } from './ray-spot.ts';
export type { ReadNoiseTail } from './read-noise-tail.ts';
export { prepareStar, type RenderOptions, renderStar, type StarShape } from './render-star.ts';
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
  type SensorPixels,
  type SensorWindow,
  sensorPixels,
} from './sensor-pixels.ts';
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
export type { StampSize, StarPlan } from './star-plan.ts';
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
