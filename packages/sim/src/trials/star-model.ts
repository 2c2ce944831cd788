/** Which model draws the star when the rig leaves the choice to the library. */
import { type DiffractionShape, diffractionSampling } from '@holdfast/psf';

/**
 * Diffraction, with the colors of the band and the turbulence of a long exposure, wherever its wavefront can
 * be sampled.
 *
 * Rays with a Gaussian blur agree with it to 3 % of the least possible error and 3 % of the window's light
 * almost nowhere: on 100 random rigs and shifts their error is up to 35 % too small, since moving air leaves
 * wider wings than a Gaussian of the same FWHM (`test/sim/star-model.test.ts`). They stand in only for a ring
 * so wide that diffraction needs more than 1024 samples across the pupil, some 400 px across at F/4; there a
 * guide camera has no usable star.
 */
export function starModelFor(waves: DiffractionShape): 'geometric' | 'diffraction' {
  try {
    diffractionSampling(waves);
    return 'diffraction';
  } catch (error) {
    if (error instanceof RangeError && error.message.startsWith('pupil samples')) return 'geometric';
    throw error;
  }
}
