/**
 * How much each pixel counts in a ring fit. Its variance is the noise that the camera and the light make,
 * plus what the ring's own unevenness makes: a constant share of the ring's brightness, told from the
 * residuals themselves, so that no edge is trusted better than the picture deserves. Pixels far off for that
 * too (shadows of vanes, another star) count less, by Huber's weights.
 */
import { median, sigmaPerMedianDeviation } from '@holdfast/psf/numerics';

/**
 * Huber's bound in sigmas: pixels further off pull with a constant force. 95 % efficient for normal noise
 * near 1.35.
 */
export const huberBound = 2;

/**
 * Variance of a pixel of this expected brightness from photons, read noise and light that was subtracted,
 * electrons^2.
 */
export function noiseVariance(fixedVariance: number, expected: number): number {
  // a faint light's model may dip below 0; a pixel without any noise would take all weight
  return fixedVariance + Math.max(expected, 0) + 1e-6;
}

/**
 * Rms unevenness of the ring as electrons per pixel: what the residuals of its lit pixels show beyond their
 * noise, 0 when that is no more than chance.
 *
 * @param lit  pixels brighter than this count as the ring, electrons
 */
export function unevennessOf(
  residuals: Float64Array,
  expected: Float64Array,
  use: Uint8Array,
  lit: number,
  fixedVariance: number,
): number {
  const ratios: number[] = [];
  const variances: number[] = [];
  for (let k = 0; k < residuals.length; k++)
    if (use[k] && expected[k] > lit) {
      const variance = noiseVariance(fixedVariance, expected[k]);
      ratios.push(Math.abs(residuals[k]) / Math.sqrt(variance));
      variances.push(variance);
    }
  if (ratios.length < 8) return 0;
  const spread = sigmaPerMedianDeviation * median(ratios);
  const excess = spread * spread - 1;
  // the square of a normal sample's scaled median deviation scatters by 2.33 / sqrt(n)
  if (excess < (3 * 2.33) / Math.sqrt(ratios.length)) return 0;
  return Math.sqrt(excess * median(variances));
}
