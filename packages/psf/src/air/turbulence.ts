/**
 * How rough the air makes a wavefront: the power spectrum of its phase after Kolmogorov, and after von Karman
 * where an outer scale limits the largest eddies.
 */
import { exp, log } from '../numerics/exp-log.ts';
import { requireNonNegative, requirePositive } from '../numerics/require.ts';

/**
 * The strength of the turbulence along the line of sight. Phases are those at the wavelength for which r0
 * holds.
 */
export interface Turbulence {
  /** Fried's parameter r0, mm. */
  readonly friedParameterMm: number;
  /** Outer scale L0, mm: Infinity (the default) is Kolmogorov's law. */
  readonly outerScaleMm?: number;
}

/**
 * Mean square difference of the phase between two points, rad^2, for an infinite outer scale.
 *
 *   D(r) = 2 (24/5 Gamma(6/5))^(5/6) (r / r0)^(5/3) = 6.883877 (r / r0)^(5/3)
 *
 * Fried 1966, JOSA 56, 1372 (from memory): the constant makes the area under the long-exposure transfer
 * function equal to that of a telescope of diameter r0 (confirmed numerically).
 *
 * @param separationMm      >= 0
 * @param friedParameterMm  > 0; the phase is that at the wavelength for which it holds
 */
export function phaseStructure(separationMm: number, friedParameterMm: number): number {
  requireNonNegative('separationMm', separationMm);
  requirePositive('friedParameterMm', friedParameterMm);
  if (separationMm === 0) return 0;
  return structureConstant * exp((5 / 3) * log(separationMm / friedParameterMm));
}

/** 2 (24/5 Gamma(6/5))^(5/6). */
export const structureConstant = 6.883877182293812;

/**
 * Gamma(11/6)^2 (24/5 Gamma(6/5))^(5/6) / (2 pi^(11/3)), often rounded to 0.0229 or 0.023.
 *
 * Derived: a spectrum c r0^(-5/3) k^(-11/3) has D(r) = 2 * integral of it times (1 - cos 2 pi k.r) over the
 * plane = 4 pi c r0^(-5/3) (2 pi r)^(5/3) I with I = integral from 0 of x^(-8/3) (1 - J0(x)) dx = pi 2^(-8/3)
 * / (Gamma(11/6)^2 sin(5 pi / 6)); setting D(r) to `structureConstant` (r / r0)^(5/3) gives c.
 */
export const spectrumConstant = 0.02289558710855519;

/**
 * Power spectrum of the phase, rad^2 mm^2 (per square of frequency in cycles/mm, over the whole plane).
 *
 *   W(k) = 0.0228956 r0^(-5/3) (k^2 + L0^(-2))^(-11/6)
 *
 * Noll 1976, JOSA 66, 207, eq. 21 with his 0.023 in full; the outer scale after von Karman (from memory).
 *
 * @param squaredFrequency  k^2, cycles^2/mm^2; > 0 where the outer scale is infinite
 */
export function phasePower(
  squaredFrequency: number,
  { friedParameterMm, outerScaleMm = Infinity }: Turbulence,
): number {
  const k2 = squaredFrequency + 1 / (outerScaleMm * outerScaleMm);
  return spectrumConstant * exp((-5 / 3) * log(friedParameterMm) - (11 / 6) * log(k2));
}
