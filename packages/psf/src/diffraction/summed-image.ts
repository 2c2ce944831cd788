/** The image of a star summed over moments, each with a wavefront of its own on top of the telescope's. */

import { writePhasor } from '../numerics/angle.ts';
import { type PupilWaveSource, writePupilWave } from '../waves/pupil-grid.ts';
import { pupilMoments } from '../waves/pupil-moments.ts';
import { zernikeSum } from '../waves/zernike.ts';
import type { DiffractionSampling } from './diffraction-sampling.ts';
import { type ImageSpectrum, integrateOverPixels } from './image-spectrum.ts';
import { planWaveToLight } from './wave-to-light.ts';

export interface SummedImage {
  /** Samples along each side of the square around the aperture. */
  readonly samples: number;
  /** Distance between them, in aperture radii. */
  readonly step: number;
  /** Square root of the intensity in each sample, gray at the edges. */
  readonly amplitude: Float64Array;
  clear(): void;
  /**
   * Add the image of one moment, given what its wavefront has more than the telescope's, nm in each sample.
   */
  add(opdNm: Float64Array): void;
  /** Fourier coefficients of the mean of the moments, integrated over pixels; valid until the next call. */
  spectrum(): ImageSpectrum;
}

/**
 * Ready to sum |transform of sqrt(intensity) exp(2 pi i (W + opd) / lambda) over the pupil|^2 over moments.
 *
 * @param source    pupil and the telescope's wavefront
 * @param sampling  as `chooseSampling` has it for this wavelength
 */
export function prepareSummedImage(
  source: PupilWaveSource,
  fNumber: number,
  { transformSize: n, lastWave, periodPx, periodUm }: DiffractionSampling,
): SummedImage {
  const { pupil, surface, wavelengthNm } = source;
  const step = (2 * wavelengthNm * fNumber) / 1000 / periodUm;
  const samples = Math.ceil(2 / step);
  const amplitude = new Float64Array(samples * samples);
  const turns = new Float64Array(samples * samples);
  const pupilLight = (Math.PI * pupilMoments(pupil).transmitted) / (step * step);
  const transforms = planWaveToLight(n);
  const { wave, stride, light } = transforms;
  const coefficients = new Float64Array(2 * (2 * lastWave + 1) * (lastWave + 1));
  let moments = 0;

  const gray = new Float64Array(2 * samples * samples);
  const flat = zernikeSum(new Float64Array(1));
  writePupilWave(gray, samples, { pupil, surface: flat, wavelengthNm }, { count: samples, step });
  const point = { value: 0, slopeX: 0, slopeY: 0 };
  for (let row = 0, k = 0; row < samples; row++)
    for (let column = 0; column < samples; column++, k++) {
      amplitude[k] = gray[2 * k];
      surface.evaluate((column + 0.5 - samples / 2) * step, (row + 0.5 - samples / 2) * step, point);
      turns[k] = point.value / wavelengthNm;
    }

  return {
    samples,
    step,
    amplitude,
    clear() {
      light.fill(0);
      moments = 0;
    },
    add(opdNm) {
      const turnsPerNm = 1 / wavelengthNm;
      for (let row = 0, k = 0; row < samples; row++) {
        let at = 2 * stride * row;
        for (let column = 0; column < samples; column++, k++, at += 2) {
          const a = amplitude[k];
          if (a === 0) continue;
          writePhasor(wave, at, turns[k] + opdNm[k] * turnsPerNm);
          wave[at] *= a;
          wave[at + 1] *= a;
        }
      }
      transforms.addLight(samples, 1);
      moments++;
    },
    spectrum() {
      // |A|^2 / (n^2 light) is the share of the light in one sample.
      const scale = 1 / (n * n * pupilLight * moments);
      transforms.transformLight(coefficients, lastWave);
      for (let k = 0; k < coefficients.length; k++) coefficients[k] *= scale;
      integrateOverPixels(coefficients, lastWave, periodPx);
      return { last: lastWave, coefficients };
    },
  };
}
