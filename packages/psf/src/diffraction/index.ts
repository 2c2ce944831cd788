/**
 * The diffraction image: from the wavefront in the pupil to the light on the pixels.
 *
 * diffraction           a star as a `diffraction` shape: optics, seeing and pixels
 * diffraction-sampling  accuracy asked for, and the grid and field that reach it
 * image-spectrum        Fourier coefficients of the image, with seeing and pixel integration
 * seeing-table          what seeing leaves of each wave, kept from image to image
 * spectrum-image        from these coefficients to pixels, for a star at any position
 * wave-to-light         Fourier transforms from the wave to the light, and on to its coefficients
 * summed-image          an image summed over many wavefronts, as a short exposure needs
 */

export { type DiffractionSeeing, type DiffractionShape, diffractionSampling } from './diffraction.ts';
export type { DiffractionAccuracy, DiffractionSampling } from './diffraction-sampling.ts';
export type { BandSample } from './image-spectrum.ts';
