/** Mean and variance of a noisy pixel after a threshold: the moments of a normal variable that is cut off below. */
import { normalInto } from '@holdfast/psf/numerics';

/** What the pixels above the threshold weigh. */
export type ThresholdForm =
  /** electrons above the threshold: v - threshold. A pixel fades in as it rises; nothing jumps. */
  | 'subtract'
  /** all their electrons: v. Closer to the true flux, but a pixel that crosses the threshold jumps in whole. */
  | 'keep';

/** Moments of one pixel's weight, electrons and electrons^2. */
export interface PixelMoments {
  mean: number;
  variance: number;
}

/** Integral and density at one place. */
const normal = new Float64Array(2);

/** So many sigmas from the threshold a pixel is as good as surely on one side of it. */
const surelyBeyond = 8;

/**
 * Mean and variance of  w = v - t ('subtract') or v ('keep') where v > t, else 0,  for v normal with `mean` and `sigma`.
 *
 * With a = (t - mean) / sigma, p its normal density and Q the share of v above t (derived; textbook moments of a truncated
 * normal):
 *   e1 = p - a Q,   e2 = (1 + a^2) Q - a p,
 *   'subtract': E w = sigma e1,         E w^2 = sigma^2 e2
 *   'keep':     E w = sigma e1 + t Q,   E w^2 = sigma^2 e2 + 2 sigma t e1 + t^2 Q
 */
export function thresholdPixel(
  out: PixelMoments,
  mean: number,
  sigma: number,
  threshold: number,
  form: ThresholdForm,
): void {
  const above = mean - threshold;
  if (!(above > -surelyBeyond * sigma)) {
    out.mean = 0;
    out.variance = 0;
    return;
  }
  const keep = form === 'keep';
  if (above >= surelyBeyond * sigma) {
    out.mean = keep ? mean : above;
    out.variance = sigma * sigma;
    return;
  }
  const a = -above / sigma;
  normalInto(normal, a);
  const p = normal[1];
  const q = 0.5 - normal[0];
  const e1 = p - a * q;
  const e2 = (1 + a * a) * q - a * p;
  const t = keep ? threshold : 0;
  out.mean = sigma * e1 + t * q;
  out.variance = Math.max(0, sigma * sigma * e2 + 2 * sigma * t * e1 + t * t * q - out.mean * out.mean);
}
