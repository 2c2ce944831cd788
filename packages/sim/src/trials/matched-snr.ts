/** The SNR of a star's image, whatever its shape: how well its flux could be known at best. */
import { exp, log } from '@holdfast/psf/numerics';

/**
 * Flux over the least possible error of the flux, position and background known:
 *   SNR = F sqrt(sum(p^2 / (F p + v))),  p = share of a pixel, v = variance of a pixel without star.
 * It is sqrt(F) for a bright star and F / sqrt(v NEA) for a faint one (King 1983, PASP 95, 163; from memory).
 */
export function matchedSnr(profile: Float64Array, variance: number, fluxE: number): number {
  let sum = 0;
  for (let k = 0; k < profile.length; k++) {
    const p = profile[k];
    if (p > 0) sum += (p * p) / (fluxE * p + variance);
  }
  return fluxE * Math.sqrt(sum);
}

/**
 * The flux that gives an SNR: the SNR grows with the flux, so bisection on its logarithm finds it.
 *
 * @throws RangeError when snr is not in (0, 100000]
 */
export function fluxForSnr(profile: Float64Array, variance: number, snr: number): number {
  if (!(snr > 0 && snr <= 1e5)) throw new RangeError(`snr must be in (0, 100000], got ${snr}`);
  let low = log(1e-3);
  let high = log(1e14);
  for (let i = 0; i < 100; i++) {
    const middle = 0.5 * (low + high);
    if (matchedSnr(profile, variance, exp(middle)) < snr) low = middle;
    else high = middle;
  }
  return exp(0.5 * (low + high));
}
