/**
 * First-order optics of an out-of-focus star: F-number, plate scale, ring diameter, waves of defocus.
 * A focus shift is measured along the light at the sensor: > 0 when the sensor lies beyond best focus.
 */

import { arcsecPerRadian } from '../numerics/angle.ts';
import { requireNames } from '../numerics/options.ts';
import { requireBelow, requireFinite, requireNonNegative, requirePositive } from '../numerics/require.ts';

/** The two lengths that make an F-number. */
export interface TelescopeLengths {
  /** Diameter of the entrance pupil, mm, > 0. */
  readonly apertureMm: number;
  /** Focal length with any reducer or corrector, mm, > 0. */
  readonly focalLengthMm: number;
}

/**
 * F-number of a telescope: focal length over aperture.
 *
 * ```ts
 * fNumber({ apertureMm: 200, focalLengthMm: 1000 }) // 5
 * ```
 * @throws RangeError or TypeError for a length that is not a number > 0
 */
export function fNumber(telescope: TelescopeLengths): number {
  const { apertureMm, focalLengthMm } = requireNames('telescope', telescope, 'apertureMm focalLengthMm');
  return requirePositive('focalLengthMm', focalLengthMm) / requirePositive('apertureMm', apertureMm);
}

/**
 * Angle that one pixel covers at the center of the field, arcsec: 206265 pixel / focal length.
 *
 * ```ts
 * plateScaleArcsecPerPx({ pixelSizeUm: 3.75, focalLengthMm: 1000 }) // 0.773
 * ```
 */
export function plateScaleArcsecPerPx(options: {
  readonly pixelSizeUm: number;
  readonly focalLengthMm: number;
}): number {
  const { pixelSizeUm, focalLengthMm } = requireNames('options', options, 'pixelSizeUm focalLengthMm');
  requirePositive('pixelSizeUm', pixelSizeUm);
  requirePositive('focalLengthMm', focalLengthMm);
  return (arcsecPerRadian * pixelSizeUm) / 1000 / focalLengthMm;
}

/** A beam and how far the sensor is from its focus. */
export interface DefocusOptions {
  /** Sensor position less best focus, along the light, um. Either sign. */
  readonly focusShiftUm: number;
  /** Focal length over aperture of the beam at the sensor, > 0.5. */
  readonly fNumber: number;
  /** Inner over outer diameter (the linear central obstruction), in [0, 1). */
  readonly obstructionRatio: number;
  /** Wavelength, nm, > 0. */
  readonly wavelengthNm: number;
}

/** What a focus shift does to a star. */
export interface DefocusBlur {
  /** Outer diameter of the geometric ring, um; never negative. */
  readonly outerDiameterUm: number;
  /** Diameter of the dark center, um; never negative. */
  readonly innerDiameterUm: number;
  /** Outer diameter by the exact cone of a sine-condition beam, um: 0.5 % more at F/5, 0.13 % at F/10. */
  readonly exactOuterDiameterUm: number;
  /**
   * Defocus at the edge of the pupil against its center, waves; the sign is that of the focus shift.
   * Positive: the light of the edge arrives early, so as a retardation the wavefront is minus this times
   * rho^2.
   */
  readonly edgeWaves: number;
}

/**
 * Ring diameters and edge defocus of a star that is out of focus.
 *
 *   outer = |dz| / F,  inner = obstruction * outer,  W020 = dz / (8 F^2)         (paraxial)
 *   exact outer = 2 |dz| tan(asin(1 / 2F)) = 2 |dz| / sqrt(4 F^2 - 1)
 *
 * The paraxial diameters agree with `edgeWaves` (outer radius = 4 W020 in units of lambda F) and are what the
 * rest of the library uses. Geometry alone: diffraction and seeing come on top.
 *
 * ```ts
 * defocusBlur({ focusShiftUm: 500, fNumber: 5, obstructionRatio: 0.35, wavelengthNm: 550 })
 * // { outerDiameterUm: 100, innerDiameterUm: 35, exactOuterDiameterUm: 100.5, edgeWaves: 4.55 }
 * ```
 * @throws RangeError or TypeError naming the argument that is out of range
 */
export function defocusBlur(options: DefocusOptions): DefocusBlur {
  requireNames('options', options, 'focusShiftUm fNumber obstructionRatio wavelengthNm');
  const { focusShiftUm, fNumber, obstructionRatio, wavelengthNm } = options;
  requireFinite('focusShiftUm', focusShiftUm);
  requireFNumber(fNumber);
  requireBelow('obstructionRatio', obstructionRatio, 0, 1);
  requirePositive('wavelengthNm', wavelengthNm);
  const outerDiameterUm = Math.abs(focusShiftUm) / fNumber;
  return {
    outerDiameterUm,
    innerDiameterUm: obstructionRatio * outerDiameterUm,
    exactOuterDiameterUm: (2 * Math.abs(focusShiftUm)) / Math.sqrt(4 * fNumber * fNumber - 1),
    edgeWaves: (focusShiftUm * 1000) / (8 * fNumber * fNumber * wavelengthNm),
  };
}

/**
 * The focus shift that makes a ring of this outer diameter, um: dz = F * diameter (paraxial). A ring does not
 * tell the side of focus: the true shift is plus or minus this.
 */
export function focusShiftFromRing(options: {
  readonly outerDiameterUm: number;
  readonly fNumber: number;
}): number {
  const { outerDiameterUm, fNumber } = requireNames('options', options, 'outerDiameterUm fNumber');
  return requireNonNegative('outerDiameterUm', outerDiameterUm) * requireFNumber(fNumber);
}

/**
 * Full width at half maximum of an unobstructed diffraction image in focus, um: 1.02899 lambda F (the root of
 * (2 J1(v) / v)^2 = 1/2; Born & Wolf, Principles of Optics, 8.5.2). A central obstruction of 0.3 narrows it
 * to 0.981, of 0.5 to 0.912 lambda F, while the first ring grows.
 */
export function airyFwhmUm(options: { readonly fNumber: number; readonly wavelengthNm: number }): number {
  const { fNumber, wavelengthNm } = requireNames('options', options, 'fNumber wavelengthNm');
  return (1.02899396996219 * requirePositive('wavelengthNm', wavelengthNm) * requireFNumber(fNumber)) / 1000;
}

/** No beam that obeys the sine condition in air is faster than F/0.5. */
export function requireFNumber(fNumber: number): number {
  requirePositive('fNumber', fNumber);
  if (fNumber <= 0.5) throw new RangeError(`fNumber must be > 0.5, got ${fNumber}`);
  return fNumber;
}
