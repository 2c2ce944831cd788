/**
 * The star as waves make it: from pupil and wavefront to pixels.
 *
 * diffraction           the star as waves make it
 * diffraction-sampling  how finely and how widely a diffraction image is calculated
 * accuracy              what it may get wrong, and what it may cost
 * image-spectrum        its Fourier coefficients, seeing and pixels included
 * pixel-transfer        what pixels do to the waves of an image
 * spectrum-image        from the coefficients to pixels, at any position
 * wave-to-light         from the wave in the pupil to the light, and to its Fourier coefficients
 * summed-image          the image summed over moments
 */

export { type DiffractionAccuracy, defaultDiffractionAccuracy } from './accuracy.ts';
export { type DiffractionSeeing, type DiffractionShape, diffractionSampling } from './diffraction.ts';
export type { DiffractionSampling } from './diffraction-sampling.ts';
export type { BandSample } from './image-spectrum.ts';
