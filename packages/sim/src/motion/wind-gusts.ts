/** The shaking of a telescope by gusts of wind. */
import type { RandomStream } from '@holdfast/psf';
import { exp, requireNonNegative, requirePositive } from '@holdfast/psf/numerics';

/** Gusts, by what they do to the star. */
export interface Wind {
  /** Rms deflection on each axis, arcsec. */
  readonly rmsArcsec: number;
  /** Time over which gusts lose their memory: scale of the turbulence over wind speed, s. */
  readonly gustTimeS: number;
}

/**
 * Light wind: near the ground eddies of some 15 m pass at 3 m/s (scale after MIL-F-8785C at 2 m height, from
 * memory).
 */
export const defaultWind: Wind = { rmsArcsec: 0.2, gustTimeS: 5 };

/** No wind. */
export const calm: Wind = { rmsArcsec: 0, gustTimeS: 1 };

/** @throws RangeError or TypeError naming the field that is out of range */
export function requireWind({ rmsArcsec, gustTimeS }: Wind): void {
  requireNonNegative('wind.rmsArcsec', rmsArcsec);
  requirePositive('wind.gustTimeS', gustTimeS);
}

/**
 * Deflection of one axis in equal steps of time: a Gauss-Markov process, whose one-sided power spectrum
 *
 *   S(f) = 4 rms^2 T / (1 + (2 pi f T)^2),   T = gust time
 *
 * is Dryden's for gusts along the wind (Liepmann 1952, J. Aeronaut. Sci. 19, 793; MIL-F-8785C; from memory),
 * with the telescope following the force of the wind like a stiff spring: it does not ring. Exact at the
 * steps, whatever their length.
 */
export function prepareGusts(
  { rmsArcsec, gustTimeS }: Wind,
  stepS: number,
  random: RandomStream,
): () => number {
  if (rmsArcsec === 0) return () => 0;
  const kept = exp(-stepS / gustTimeS);
  const fresh = rmsArcsec * Math.sqrt(1 - kept * kept);
  let now = rmsArcsec * random.normal();
  return () => {
    const value = now;
    now = kept * now + fresh * random.normal();
    return value;
  };
}
