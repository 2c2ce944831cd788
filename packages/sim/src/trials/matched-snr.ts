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
 * The flux that gives an SNR: the SNR grows with the flux, so bisection on its logarithm finds it, to the
 * last bit. Newton's steps find the neighborhood first: where bisection looks outside it, the answer is
 * known.
 *
 * @throws RangeError when snr is not in (0, 100000]
 */
export function fluxForSnr(profile: Float64Array, variance: number, snr: number): number {
  if (!(snr > 0 && snr <= 1e5)) throw new RangeError(`snr must be in (0, 100000], got ${snr}`);
  let low = log(1e-3);
  let high = log(1e14);
  const near = nearFlux(profile, variance, snr);
  for (;;) {
    const middle = 0.5 * (low + high);
    if (!(middle > low && middle < high)) return exp(middle);
    const isLow =
      Math.abs(middle - near) > neighborhood
        ? middle < near
        : matchedSnr(profile, variance, exp(middle)) < snr;
    if (isLow) low = middle;
    else high = middle;
  }
}

/** Of the logarithm of the flux: Newton's last step is far smaller, and rounding smaller still. */
const neighborhood = 1e-8;
const mostSteps = 30;

/** Logarithm of that flux; where Newton's steps do not settle, none: NaN is near to everything. */
function nearFlux(profile: Float64Array, variance: number, snr: number): number {
  let at = log(snr * snr + snr * Math.sqrt(variance));
  for (let i = 0; i < mostSteps; i++) {
    const flux = exp(at);
    let sum = 0;
    let change = 0;
    for (let k = 0; k < profile.length; k++) {
      const p = profile[k];
      if (!(p > 0)) continue;
      const share = p / (flux * p + variance);
      sum += p * share;
      change += p * flux * share * share;
    }
    // Of log SNR with log flux: from 1, faint, to 1/2, bright.
    const slope = 1 - (0.5 * change) / sum;
    const step = log(snr / (flux * Math.sqrt(sum))) / slope;
    at += step;
    if (Math.abs(step) < 1e-6) return at;
  }
  return Number.NaN;
}
