/**
 * The wavefront of one star from its picture out of focus.
 *
 * wavefront-fit      terms, pupil, blur and focus shift of a star, each with its error
 * wavefront-descent  the way there: a whole beam, a clipped one, waves
 * wavefront-model    the picture by rays, and its slopes
 * wavefront-terms    names of the terms; what a focus shift makes of them
 * pupil-rays         rays that move smoothly with the edges of the pupil
 */
export {
  fitWavefront,
  type WavefrontFit,
  type WavefrontFitOptions,
  type WavefrontFound,
  type WavefrontTerm,
} from './wavefront-fit.ts';
