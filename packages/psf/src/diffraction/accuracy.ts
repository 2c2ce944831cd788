/** What a diffraction image may get wrong, and what it may cost. */
import { requireInteger, requireWithin } from '../numerics/require.ts';

/** Each knob bounds one error; the defaults suit a guide camera. */
export interface DiffractionAccuracy {
  /**
   * Samples across the pupil at the longest wavelength, at least; from 16 to 2048. The image is drawn out to between 0.42 and
   * 0.5 times as many lambda F from the star. What lies beyond is left out and counts as light outside the stamp: of a sharp
   * image some 0.4 / ((1 - obstruction) samples), of an image blurred by seeing a little more. Default 128.
   */
  readonly minPupilSamples?: number;
  /**
   * Samples across the pupil at the shortest wavelength, at most; from 16 to 2048. Time and memory grow as its square (1024:
   * 130 MB and seconds). A shape that needs more is refused. Default 1024.
   */
  readonly maxPupilSamples?: number;
  /**
   * Share of the light that seeing throws further than half the period of the calculation and that folds back into it, at
   * most; from 1e-4 to 0.1. A stamp receives of it about its own share of the period's area. Default 2e-3.
   */
  readonly foldedLight?: number;
  /**
   * Error of a pixel from leaving out the finest waves of the image, as a share of the flux, at most; from 0 to 1e-3.
   * Default 1e-10.
   */
  readonly pixelError?: number;
}

export const defaultDiffractionAccuracy: Required<DiffractionAccuracy> = {
  minPupilSamples: 128,
  maxPupilSamples: 1024,
  foldedLight: 2e-3,
  pixelError: 1e-10,
};

/**
 * Accuracy with its defaults filled in.
 *
 * @throws RangeError or TypeError naming the knob that is out of range
 */
export function resolveAccuracy(accuracy: DiffractionAccuracy = {}): Required<DiffractionAccuracy> {
  const { minPupilSamples, maxPupilSamples, foldedLight, pixelError } = {
    ...defaultDiffractionAccuracy,
    ...accuracy,
  };
  requireInteger('accuracy.maxPupilSamples', maxPupilSamples, 16, 2048);
  requireInteger('accuracy.minPupilSamples', minPupilSamples, 16, maxPupilSamples);
  requireWithin('accuracy.foldedLight', foldedLight, 1e-4, 0.1);
  requireWithin('accuracy.pixelError', pixelError, 0, 1e-3);
  return { minPupilSamples, maxPupilSamples, foldedLight, pixelError };
}
