/** The slow and plain way to draw a spot diagram: for each ray a Gaussian, integrated over every pixel. */

import type { SpotDiagram } from '../../packages/psf/src/image/spot-diagram.ts';
import type { RenderOptions } from '../../packages/psf/src/index.ts';

export function sumOfGaussians(
  { x, y, weights }: SpotDiagram,
  sigma: number,
  at: RenderOptions,
): Float64Array {
  const out = new Float64Array(at.width * at.height);
  for (let n = 0; n < weights.length; n++) {
    const columns = pixelShares(at.width, at.x + x[n], sigma);
    const rows = pixelShares(at.height, at.y + y[n], sigma);
    for (let j = 0; j < rows.shares.length; j++)
      for (let i = 0; i < columns.shares.length; i++)
        out[(rows.from + j) * at.width + columns.from + i] +=
          at.flux * weights[n] * rows.shares[j] * columns.shares[i];
  }
  return out;
}

/** The pixels within 9 sigma of the center, and what lies in each of them. */
function pixelShares(count: number, center: number, sigma: number): { from: number; shares: number[] } {
  const from = Math.max(0, Math.ceil(center - 9 * sigma - 0.5));
  const to = Math.min(count - 1, Math.floor(center + 9 * sigma + 0.5));
  const shares: number[] = [];
  let below = normalBelow((from - 0.5 - center) / sigma);
  for (let i = from; i <= to; i++) {
    const above = normalBelow((i + 0.5 - center) / sigma);
    shares.push(above - below);
    below = above;
  }
  return { from, shares };
}

/**
 * Fraction of a unit Gaussian below t, by the series of Marsaglia 2004, J. Stat. Softw. 11 (4); good to
 * 1e-15.
 */
export function normalBelow(t: number): number {
  if (Math.abs(t) > 9) return t > 0 ? 1 : 0;
  let sum = t;
  let term = t;
  for (let k = 3; Math.abs(term) > 1e-18 * Math.abs(sum); k += 2) {
    term *= (t * t) / k;
    sum += term;
  }
  return 0.5 + sum * Math.exp(-0.5 * t * t - 0.5 * Math.log(2 * Math.PI));
}
