/**
 * The blur of the atmosphere in a long exposure: Fried parameter and FWHM, the transfer function, the motion
 * of the image. Kolmogorov's law unless an outer scale is given; the Fried parameter grows with the
 * wavelength as lambda^(6/5).
 */

import { arcsecPerRadian } from '../numerics/angle.ts';
import { exp, log } from '../numerics/exp-log.ts';
import { requireNames } from '../numerics/options.ts';
import { requirePositive, shown } from '../numerics/require.ts';
import { phaseStructure } from './turbulence.ts';
import { vonKarmanStructure } from './von-karman.ts';

/**
 * FWHM of the Kolmogorov image in units of lambda / r0: the Hankel transform of the transfer function, found
 * numerically.
 */
const fwhmOfFried = 0.9758634299;

/** Wavelength for which seeing is quoted unless said otherwise, nm: common practice, no source. */
export const seeingWavelengthNm = 500;

/** How turbulent the air is: by the FWHM that it would give a large telescope, or by the Fried parameter. */
export type Seeing = SeeingScale & {
  /** Wavelength for which the FWHM or Fried parameter holds, nm. Default 500. */
  readonly wavelengthNm?: number;
  /** Outer scale of the turbulence, mm; Infinity (Kolmogorov) when left out. Some 20 000 mm are usual. */
  readonly outerScaleMm?: number;
};

type SeeingScale =
  | {
      /**
       * FWHM of the Kolmogorov long exposure, arcsec, in the direction of the star. An outer scale makes the
       * image smaller.
       */
      readonly fwhmArcsec: number;
      readonly friedParameterMm?: never;
    }
  | {
      /** Fried parameter in the direction of the star, mm. */
      readonly friedParameterMm: number;
      readonly fwhmArcsec?: never;
    };

/**
 * Fried parameter at a wavelength, mm: r0 = 0.975863 lambda / FWHM, scaled by lambda^(6/5).
 *
 * ```ts
 * friedParameterMm({ fwhmArcsec: 2 }, 600) // 62.6
 * ```
 * @throws RangeError or TypeError naming what is out of range, or unless exactly one of fwhmArcsec and
 *   friedParameterMm is given
 */
export function friedParameterMm(seeing: Seeing, wavelengthNm: number): number {
  requireSeeing(seeing);
  const at = seeing.wavelengthNm ?? seeingWavelengthNm;
  const r0 = seeing.friedParameterMm ?? ((fwhmOfFried * at * 1e-6) / seeing.fwhmArcsec) * arcsecPerRadian;
  return r0 * power(requirePositive('wavelengthNm', wavelengthNm) / at, 6 / 5);
}

/**
 * FWHM of the Kolmogorov long exposure at a wavelength, arcsec: 0.975863 lambda / r0; it falls as
 * lambda^(-1/5).
 *
 * ```ts
 * seeingFwhmArcsec({ friedParameterMm: 100 }, 500) // 1.0064
 * ```
 * @throws as `friedParameterMm`
 */
export function seeingFwhmArcsec(seeing: Seeing, wavelengthNm: number): number {
  requirePositive('wavelengthNm', wavelengthNm);
  return ((fwhmOfFried * wavelengthNm * 1e-6) / friedParameterMm(seeing, wavelengthNm)) * arcsecPerRadian;
}

/**
 * What is left of a wave of the image in a long exposure through the atmosphere, exp(-D(s) / 2), for points
 * of the pupil that lie `separationMm` apart (lambda times the spatial frequency in the focal plane times the
 * focal length).
 *
 *   Kolmogorov   exp(-3.441939 (s / r0)^(5/3))
 *   von Karman   with the structure function of `vonKarmanStructure`, which levels off at the outer scale
 *
 * @throws as `friedParameterMm`
 */
export function seeingTransfer(seeing: Seeing, wavelengthNm: number): (separationMm: number) => number {
  const r0 = friedParameterMm(seeing, wavelengthNm);
  const { outerScaleMm = Infinity } = seeing;
  if (outerScaleMm === Infinity) return (separationMm) => exp(-0.5 * phaseStructure(separationMm, r0));
  return (separationMm) => exp(-0.5 * vonKarmanStructure(separationMm, r0, outerScaleMm));
}

/**
 * Ways to measure the position of a speckled image: its center of mass, or the best-fitting tilt of the
 * wavefront.
 */
export type TiltMeasure = 'centroid' | 'zernike';

/** Whose image moves, and in which air. */
export interface ImageMotionOptions {
  /** The air. */
  readonly seeing: Seeing;
  /** Diameter of the telescope, mm, > 0. */
  readonly apertureMm: number;
  /** Wavelength of the light, nm, > 0. */
  readonly wavelengthNm: number;
  /** Default 'centroid': mean slope of the wavefront. 'zernike' is the slope of its least-squares plane. */
  readonly measure?: TiltMeasure;
}

/**
 * Motion of a star's image from one short exposure to the next, arcsec rms on one axis, over a clear
 * aperture:
 *
 *   sigma^2 = C lambda^2 D^(-1/3) r0^(-5/3),   C = 0.1698 for the center of mass, 0.1819 for the Zernike tilt
 *
 * (Tokovinin 2002, PASP 114, 1156, from memory; both constants confirmed numerically; older papers print
 * 0.179 to 0.18). Infinite outer scale, exposures much shorter than the crossing time of the turbulence over
 * the aperture; independent of the wavelength. The outer scale of `seeing` is not used: it would lower the
 * motion.
 *
 * ```ts
 * imageMotionArcsec({ seeing: { friedParameterMm: 100 }, apertureMm: 200, wavelengthNm: 500 }) // 0.379
 * ```
 * @throws as `friedParameterMm`
 */
export function imageMotionArcsec(options: ImageMotionOptions): number {
  const {
    seeing,
    apertureMm,
    wavelengthNm,
    measure = 'centroid',
  } = requireNames('options', options, 'seeing apertureMm wavelengthNm measure');
  requirePositive('apertureMm', apertureMm);
  if (measure !== 'centroid' && measure !== 'zernike')
    throw new TypeError(`measure must be 'centroid' or 'zernike', got ${shown(measure)}`);
  const r0 = friedParameterMm(seeing, wavelengthNm);
  const lambda = wavelengthNm * 1e-6;
  const factor = measure === 'centroid' ? 0.1698 : 0.1819;
  const variance = factor * lambda * lambda * power(apertureMm, -1 / 3) * power(r0, -5 / 3);
  return Math.sqrt(variance) * arcsecPerRadian;
}

export function requireSeeing(seeing: Seeing): void {
  requireNames('seeing', seeing, 'fwhmArcsec friedParameterMm wavelengthNm outerScaleMm apertureMm');
  const { fwhmArcsec, friedParameterMm, wavelengthNm, outerScaleMm } = seeing;
  if ((fwhmArcsec === undefined) === (friedParameterMm === undefined))
    throw new TypeError(
      `seeing must have one of fwhmArcsec and friedParameterMm, got ${fwhmArcsec === undefined ? 'neither' : 'both'}`,
    );
  if (fwhmArcsec !== undefined) requirePositive('seeing.fwhmArcsec', fwhmArcsec);
  if (friedParameterMm !== undefined) requirePositive('seeing.friedParameterMm', friedParameterMm);
  if (wavelengthNm !== undefined) requirePositive('seeing.wavelengthNm', wavelengthNm);
  if (outerScaleMm !== undefined && outerScaleMm !== Infinity)
    requirePositive('seeing.outerScaleMm', outerScaleMm);
}

/** base^exponent for base > 0. */
const power = (base: number, exponent: number): number => exp(exponent * log(base));
