/**
 * The Fourier coefficients of a star's image, pixel and atmosphere included: everything about a diffraction
 * image that does not depend on where the star lies.
 *
 *   coefficient[k] = optical transfer * seeing transfer * sinc(kx / K) * sinc(ky / K),   k in waves a period of K pixels
 *
 * The optical transfer is the transform of |A|^2, A that of the wave in the pupil (Goodman, Introduction to
 * Fourier Optics, 6.3, from memory). All wavelengths share one grid in the image, and so one set of
 * coefficients.
 */

import { type Seeing, seeingTransfer } from '../air/seeing.ts';
import { writePhasor } from '../numerics/angle.ts';
import type { Pupil } from '../waves/pupil.ts';
import { isWaveEvenInY, sinc, writePupilWave } from '../waves/pupil-grid.ts';
import { pupilMoments } from '../waves/pupil-moments.ts';
import type { ZernikeSum } from '../waves/zernike.ts';
import { type DiffractionSampling, transformLength, wholeReach } from './diffraction-sampling.ts';
import { seeingTable } from './seeing-table.ts';
import { borrowWaveToLight, type WaveToLight } from './wave-to-light.ts';

/** Light of one wavelength of a band, and its share. */
export interface BandSample {
  /** Wavelength, nm, > 0. */
  readonly wavelengthNm: number;
  /** Share of the light at it, in any unit, >= 0. */
  readonly weight: number;
  /**
   * How far this wavelength comes to a focus beyond the one that the wavefront is for, along the light, um.
   * Default 0.
   */
  readonly focusBehindUm?: number;
}

/** A wavelength with the wavefront that it has. */
export interface BandWave extends BandSample {
  /** Wavefront in nm. */
  readonly surface: ZernikeSum;
}

export interface ImageSource {
  readonly pupil: Pupil;
  readonly fNumber: number;
  readonly pixelSizeUm: number;
  readonly band: readonly BandWave[];
  readonly seeing?: (Seeing & { readonly apertureMm: number }) | undefined;
}

/**
 * Coefficients for kx from -last to 0, in each ky from -last to last, interleaved complex; the last column,
 * kx = 0, holds in its middle the drawn light. An image is real: the others are their conjugates, c(-kx, -ky)
 * = conj c(kx, ky).
 */
export interface ImageSpectrum {
  readonly last: number;
  readonly coefficients: Float64Array;
}

/**
 * @param negligible coefficients that seeing makes smaller than this may be left out: `last` is then that of
 *   the finest wave left
 */
export function imageSpectrum(
  source: ImageSource,
  sampling: DiffractionSampling,
  negligible = 0,
): ImageSpectrum {
  const { periodPx } = sampling;
  const { band, seeing } = source;
  const lasts = band.map((sample) => lastWaveLeft(source, sampling, sample, negligible));
  const last = Math.max(...lasts);
  const coefficients = new Float64Array(lengthFor(last));
  if (seeing === undefined) {
    // Nothing but the image itself depends on the wavelength: one transform serves all.
    const transforms = transformsFor(sampling, last, sampling.pupilSamples, areEven(source.pupil, band));
    transforms.light.fill(0);
    for (const sample of band) addImage(transforms, source, sample, sampling);
    fadeImage(transforms);
    transforms.transformLight(coefficients, last);
  } else {
    const one = band.length === 1 ? coefficients : new Float64Array(coefficients.length);
    band.forEach((sample, color) => {
      const samples = (1000 * sampling.periodUm) / (sample.wavelengthNm * source.fNumber);
      const transforms = transformsFor(sampling, lasts[color], samples, areEven(source.pupil, [sample]));
      transforms.light.fill(0);
      addImage(transforms, source, sample, sampling);
      fadeImage(transforms);
      transforms.transformLight(one, lasts[color]);
      blurBySeeing(one, lasts[color], seeing, sample.wavelengthNm, source.fNumber / sampling.periodUm);
      if (one !== coefficients) addSpectrum(coefficients, last, one, lasts[color]);
    });
  }
  integrateOverPixels(coefficients, last, periodPx);
  return { last, coefficients };
}

/** Numbers in the coefficients of waves up to `last`. */
const lengthFor = (last: number): number => 2 * (2 * last + 1) * (last + 1);

/** Add coefficients of waves up to `last` to those of waves up to `sumLast`, which is no less. */
function addSpectrum(sum: Float64Array, sumLast: number, coefficients: Float64Array, last: number): void {
  const length = 2 * (2 * last + 1);
  for (let kx = 0, at = 0; kx <= last; kx++) {
    let to = 2 * ((2 * sumLast + 1) * (sumLast - last + kx) + sumLast - last);
    for (let k = 0; k < length; k++) sum[to++] += coefficients[at++];
  }
}

/** Waves that the fading rim of the image spreads over. */
const rimWaves = 16;

/**
 * Transforms for a wavelength with so many samples across the pupil; their side is quick to transform. Light
 * sampled at n places holds waves up to the distance of the pupil's outer cells, and those beyond n / 2 look
 * like others: wave k like n - k. Where seeing leaves only waves up to `last`, the others may fall on one
 * another.
 */
function transformsFor(
  { transformSize }: DiffractionSampling,
  last: number,
  samples: number,
  isEven: boolean,
): WaveToLight {
  const count = Math.ceil(samples);
  const least = Math.max(count - 1 + rimWaves + last, 2 * last + 2);
  const size = Math.min(transformSize, transformLength(least));
  return borrowWaveToLight(size, 2 * count > size, isEven);
}

const areEven = (pupil: Pupil, band: readonly BandWave[]): boolean =>
  band.every(({ surface }) => isWaveEvenInY(pupil, surface));

/** Multiply each coefficient by what pixels leave of its wave. */
export function integrateOverPixels(coefficients: Float64Array, last: number, periodPx: number): void {
  const pixel = new Float64Array(last + 1);
  for (let k = 0; k <= last; k++) pixel[k] = pixelTransfer(k / periodPx);
  for (let kx = -last, at = 0; kx <= 0; kx++) {
    const factor = pixel[-kx];
    for (let ky = -last; ky <= last; ky++, at += 2) {
      const both = factor * pixel[ky < 0 ? -ky : ky];
      coefficients[at] *= both;
      coefficients[at + 1] *= both;
    }
  }
}

/** Add the image of one wavelength, sampled over one period, as shares of the light that the pupil passes. */
function addImage(
  { wave, stride, size, addLight }: WaveToLight,
  { pupil, fNumber }: ImageSource,
  { wavelengthNm, weight, surface }: BandWave,
  { periodUm }: DiffractionSampling,
): void {
  const step = (2 * wavelengthNm * fNumber) / 1000 / periodUm;
  const count = Math.ceil(2 / step);
  wave.fill(0);
  writePupilWave(wave, stride, { pupil, surface, wavelengthNm }, { count, step });
  // |A|^2 h^2 / (n^2 light) is the share of the light in one sample.
  const passed = Math.PI * pupilMoments(pupil).transmitted;
  addLight(count, (weight * (step * step)) / (size * size * passed));
}

/** Take off what the means over the cells of the pupil did to the image, and let its rim fade out. */
function fadeImage({ light, lightRows, size: n }: WaveToLight): void {
  const half = n / 2;
  const squares = new Float64Array(half + 1);
  const unblur = new Float64Array(half + 1);
  for (let k = 0; k <= half; k++) {
    const place = k / n;
    const blur = sinc(place);
    squares[k] = place * place;
    unblur[k] = 1 / (blur * blur);
  }
  // The same for four places: rows and columns k and n - k.
  const left = new Float64Array(half + 1);
  for (let row = 0; row <= half; row++) {
    for (let column = 0; column <= half; column++) {
      const square = squares[column] + squares[row];
      let share = unblur[row];
      // Gone beyond half a period; between, the fall is smooth.
      if (square > wholeReach * wholeReach) {
        const t = Math.max(0, 0.5 - Math.sqrt(square)) / (0.5 - wholeReach);
        share = t * t * (3 - 2 * t) * share;
      }
      left[column] = share * unblur[column];
    }
    fadeRow(light, n * row, left);
    if (row > 0 && n - row < lightRows) fadeRow(light, n * (n - row), left);
  }
}

function fadeRow(light: Float64Array, first: number, left: Float64Array): void {
  const half = left.length - 1;
  for (let k = 0; k <= half; k++) light[first + k] *= left[k];
  for (let k = half - 1, at = first + half + 1; k > 0; k--, at++) light[at] *= left[k];
}

/**
 * Multiply each coefficient by the seeing transfer, which is the same for four waves, and for eight with x
 * and y exchanged.
 */
function blurBySeeing(
  coefficients: Float64Array,
  last: number,
  seeing: Seeing & { readonly apertureMm: number },
  wavelengthNm: number,
  fNumberPerPeriodUm: number,
): void {
  // A wave is made by rays that leave the pupil lambda f times its frequency apart, f = fNumber * aperture.
  const separation = (wavelengthNm * seeing.apertureMm * fNumberPerPeriodUm) / 1000;
  const values = seeingTable(seeing, wavelengthNm, separation, last);
  const side = 2 * last + 1;
  const multiply = (kx: number, ky: number, value: number): void => {
    const middle = 2 * (side * (last - kx) + last);
    coefficients[middle + 2 * ky] *= value;
    coefficients[middle + 2 * ky + 1] *= value;
    if (ky === 0) return;
    coefficients[middle - 2 * ky] *= value;
    coefficients[middle - 2 * ky + 1] *= value;
  };
  for (let ky = 0, first = 0; ky <= last; first += ++ky) {
    for (let kx = 0; kx <= ky; kx++) multiply(kx, ky, values[first + kx]);
    for (let kx = 0; kx < ky; kx++) multiply(ky, kx, values[first + kx]);
  }
}

/**
 * The finest wave along an axis that matters of one color: optics pass no more than all, and what seeing
 * leaves out of all colors together is below `negligible`.
 */
function lastWaveLeft(
  { seeing, fNumber, band }: ImageSource,
  { lastWave, periodUm }: DiffractionSampling,
  { wavelengthNm, weight }: BandSample,
  negligible: number,
): number {
  if (seeing === undefined || negligible === 0) return lastWave;
  const least = negligible / (band.length * weight);
  const transfer = seeingTransfer(seeing, wavelengthNm);
  const separation = (wavelengthNm * seeing.apertureMm * fNumber) / periodUm / 1000;
  let left = 0;
  let gone = lastWave + 1;
  while (gone - left > 1) {
    const middle = (left + gone) >> 1;
    if (transfer(separation * middle) >= least) left = middle;
    else gone = middle;
  }
  return left;
}

/**
 * What is left of a wave of `frequency` cycles a pixel when it is integrated over pixels: sin(pi f) / (pi f).
 */
function pixelTransfer(frequency: number): number {
  if (Math.abs(frequency) < 0.5) return sinc(frequency);
  const phasor = new Float64Array(2);
  writePhasor(phasor, 0, frequency / 2);
  return phasor[1] / (Math.PI * frequency);
}
