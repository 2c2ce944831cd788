/**
 * The Fourier coefficients of a star's image, pixel and atmosphere included: everything about a diffraction image that does
 * not depend on where the star lies.
 *
 *   coefficient[k] = optical transfer * seeing transfer * sinc(kx / K) * sinc(ky / K),   k in waves a period of K pixels
 *
 * The optical transfer is the transform of |A|^2, A that of the wave in the pupil (Goodman, Introduction to Fourier Optics,
 * 6.3, from memory). All wavelengths share one grid in the image, and so one set of coefficients.
 */
import { type DiffractionSampling, wholeReach } from './diffraction-sampling.ts';
import { type FourierPlan2d, planFourier2d } from './fourier.ts';
import { pixelTransfer } from './pixel-transfer.ts';
import type { Pupil } from './pupil.ts';
import { sinc, writePupilWave } from './pupil-grid.ts';
import { pupilMoments } from './pupil-moments.ts';
import { type Seeing, seeingTransfer } from './seeing.ts';
import type { ZernikeSum } from './zernike.ts';

/** Light of one wavelength of a band, and its share. */
export interface BandSample {
  readonly wavelengthNm: number;
  readonly weight: number;
}

export interface ImageSource {
  readonly pupil: Pupil;
  /** Wavefront in nm, the same path at every wavelength. */
  readonly surface: ZernikeSum;
  readonly fNumber: number;
  readonly pixelSizeUm: number;
  readonly band: readonly BandSample[];
  readonly seeing?: (Seeing & { readonly apertureMm: number }) | undefined;
}

/** Coefficients for kx and ky from -last to last, rows of ky, interleaved complex. Coefficient [0, 0] is the drawn light. */
export interface ImageSpectrum {
  readonly last: number;
  readonly coefficients: Float64Array;
}

export function imageSpectrum(source: ImageSource, sampling: DiffractionSampling): ImageSpectrum {
  const { transformSize, lastWave, periodPx } = sampling;
  const plan = planFourier2d(transformSize);
  const data = new Float64Array(2 * transformSize * transformSize);
  const side = 2 * lastWave + 1;
  const coefficients = new Float64Array(2 * side * side);
  if (source.seeing === undefined && source.band.length > 1) {
    // Nothing but the image itself depends on the wavelength: one transform serves all.
    const sum = new Float64Array(data.length);
    for (const { wavelengthNm, weight } of source.band) {
      writeImage(data, plan, source, wavelengthNm, sampling);
      for (let k = 0; k < sum.length; k += 2) sum[k] += weight * data[k];
    }
    plan.forward(sum);
    addTransfer(coefficients, sum, source, { ...source.band[0], weight: 1 }, sampling);
  } else
    for (const sample of source.band) {
      writeImage(data, plan, source, sample.wavelengthNm, sampling);
      plan.forward(data);
      addTransfer(coefficients, data, source, sample, sampling);
    }
  const pixel = new Float64Array(side);
  for (let k = 0; k < side; k++) pixel[k] = pixelTransfer((k - lastWave) / periodPx);
  for (let row = 0, at = 0; row < side; row++)
    for (let column = 0; column < side; column++) {
      const factor = pixel[row] * pixel[column];
      coefficients[at++] *= factor;
      coefficients[at++] *= factor;
    }
  return { last: lastWave, coefficients };
}

/** Fill `data` with the image of one wavelength, sampled over one period, as shares of the light that the pupil passes. */
function writeImage(
  data: Float64Array,
  plan: FourierPlan2d,
  { pupil, surface, fNumber }: ImageSource,
  wavelengthNm: number,
  { transformSize, periodUm }: DiffractionSampling,
): void {
  const n = transformSize;
  const step = (2 * wavelengthNm * fNumber) / 1000 / periodUm;
  const count = Math.ceil(2 / step);
  data.fill(0);
  writePupilWave(data, n, { pupil, surface, wavelengthNm }, { count, step });
  plan.forward(data, count);

  // |A|^2 h^2 / (n^2 light) is the share of the light in one sample; the means over cells are taken off, the rim fades out.
  const light = Math.PI * pupilMoments(pupil).transmitted;
  const scale = (step * step) / (n * n * light);
  const unblur = new Float64Array(n);
  for (let k = 0; k < n; k++) {
    const blur = sinc((k < n / 2 ? k : k - n) / n);
    unblur[k] = 1 / (blur * blur);
  }
  for (let row = 0, at = 0; row < n; row++) {
    const y = (row < n / 2 ? row : row - n) / n;
    const rowScale = scale * unblur[row];
    for (let column = 0; column < n; column++, at += 2) {
      const x = (column < n / 2 ? column : column - n) / n;
      const fade = rimFade(x * x + y * y);
      data[at] =
        fade === 0
          ? 0
          : fade * rowScale * unblur[column] * (data[at] * data[at] + data[at + 1] * data[at + 1]);
      data[at + 1] = 0;
    }
  }
}

/** 1 within `wholeReach`, 0 beyond half a period, smooth between. */
function rimFade(squaredDistance: number): number {
  if (squaredDistance <= wholeReach * wholeReach) return 1;
  if (squaredDistance >= 0.25) return 0;
  const t = (0.5 - Math.sqrt(squaredDistance)) / (0.5 - wholeReach);
  return t * t * (3 - 2 * t);
}

function addTransfer(
  coefficients: Float64Array,
  data: Float64Array,
  { fNumber, seeing }: ImageSource,
  { wavelengthNm, weight }: BandSample,
  { transformSize, lastWave, periodUm }: DiffractionSampling,
): void {
  const n = transformSize;
  const quarter = seeing && seeingQuarter(seeing, wavelengthNm, lastWave, fNumber / periodUm);
  for (let ky = -lastWave, at = 0; ky <= lastWave; ky++) {
    const start = 2 * n * (ky < 0 ? ky + n : ky);
    const row = Math.abs(ky) * (lastWave + 1);
    for (let kx = -lastWave; kx <= lastWave; kx++, at += 2) {
      const from = start + 2 * (kx < 0 ? kx + n : kx);
      const factor = quarter ? weight * quarter[row + Math.abs(kx)] : weight;
      coefficients[at] += factor * data[from];
      coefficients[at + 1] += factor * data[from + 1];
    }
  }
}

/** The seeing transfer for kx and ky from 0 to `last`, row by row: the other quarters and halves are its mirror images. */
function seeingQuarter(
  seeing: Seeing & { readonly apertureMm: number },
  wavelengthNm: number,
  last: number,
  fNumberPerPeriodUm: number,
): Float64Array {
  const transfer = seeingTransfer(seeing, wavelengthNm);
  // A wave is made by rays that leave the pupil lambda f times its frequency apart, f = fNumber * aperture.
  const separation = (wavelengthNm * seeing.apertureMm * fNumberPerPeriodUm) / 1000;
  const side = last + 1;
  const quarter = new Float64Array(side * side);
  for (let ky = 0; ky <= last; ky++)
    for (let kx = 0; kx <= ky; kx++) {
      const value = transfer(separation * Math.sqrt(kx * kx + ky * ky));
      quarter[ky * side + kx] = value;
      quarter[kx * side + ky] = value;
    }
  return quarter;
}
