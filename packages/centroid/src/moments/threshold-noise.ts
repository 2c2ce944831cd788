/** What a threshold leaves of a noisy pixel: the moments of a noisy variable that is cut off below. */
import { normalInto } from '@holdfast/psf/numerics';

/** What the pixels above the threshold weigh. */
export type ThresholdForm =
  /** electrons above the threshold: v - threshold. A pixel fades in as it rises; nothing jumps. */
  | 'subtract'
  /**
   * all their electrons: v. Closer to the true flux, but a pixel that crosses the threshold jumps in whole.
   */
  | 'keep';

/** Moments of one pixel's weight, electrons to their power. */
export interface PixelMoments {
  mean: number;
  variance: number;
  /** Mean cube of the difference from the mean. */
  third: number;
  /** Change of the mean per change of the pixel's own mean. */
  slope: number;
}

export const noPixelMoments = (): PixelMoments => ({ mean: 0, variance: 0, third: 0, slope: 0 });

/** Skewness of an empty pixel: all of its variance but that of the read noise is of photons. */
export const emptySkewness = (sigma: number, readNoiseE: number): number =>
  Math.max(0, sigma * sigma - readNoiseE * readNoiseE) / (sigma * sigma * sigma);

/** Integral and density at one place. */
const normal = new Float64Array(2);

/** So many sigmas from the threshold a pixel is as good as surely on one side of it. */
const surelyBeyond = 8;

/**
 * Moments of w = v - t ('subtract') or v ('keep') where v > t, else 0, for v with \`mean\`, \`sigma\` and a
 * skewness.
 *
 * With a = (t - mean) / sigma, p the normal density there, Q the share of v above t and g the skewness, the
 * moments of the excess over a are those of a truncated normal, and g / 6 times those of Edgeworth's first
 * term, He3(z) p(z) (textbook; derived):
 *   Q  = normal + g / 6 (a^2 - 1) p     e1 = p - a Q + g / 6 a p      e2, e3 below;   'keep' adds t to every w above t
 * Photons are skewed, and what a high threshold leaves of empty pixels lives on that: with g = 0.23 (10
 * electrons) above 2 sigma, 1.7 times the variance of normal noise.
 */
export function thresholdPixel(
  out: PixelMoments,
  mean: number,
  sigma: number,
  skewness: number,
  threshold: number,
  form: ThresholdForm,
): void {
  const above = mean - threshold;
  const keep = form === 'keep';
  out.third = 0;
  if (!(above > -surelyBeyond * sigma)) {
    out.mean = 0;
    out.variance = 0;
    out.slope = 0;
    return;
  }
  if (above >= surelyBeyond * sigma) {
    out.mean = keep ? mean : above;
    out.variance = sigma * sigma;
    out.third = skewness * sigma * sigma * sigma;
    out.slope = 1;
    return;
  }
  const a = -above / sigma;
  normalInto(normal, a);
  const p = normal[1];
  const normalQ = 0.5 - normal[0];
  const normalE1 = p - a * normalQ;
  const normalE2 = normalQ - a * normalE1;
  const g = skewness / 6;
  const q = Math.max(0, normalQ + g * (a * a - 1) * p);
  const e1 = Math.max(0, normalE1 + g * a * p);
  const e2 = Math.max(0, normalE2 + 2 * g * p);
  const e3 = Math.max(0, 2 * normalE1 - a * normalE2 + 6 * g * normalQ);
  const t = keep ? threshold / sigma : 0;
  const m1 = e1 + t * q;
  const m2 = e2 + t * (2 * e1 + t * q);
  const m3 = e3 + t * (3 * e2 + t * (3 * e1 + t * q));
  out.mean = sigma * m1;
  out.variance = sigma * sigma * Math.max(0, m2 - m1 * m1);
  out.third = sigma * sigma * sigma * (m3 - m1 * (3 * m2 - 2 * m1 * m1));
  out.slope = q + t * p;
}
