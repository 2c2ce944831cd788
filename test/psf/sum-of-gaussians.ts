/** The slow and plain way to draw a spot diagram: for each ray a Gaussian, integrated over every pixel. */
import type { RenderOptions } from '../../packages/psf/src/index.ts';
import type { SpotDiagram } from '../../packages/psf/src/spot-diagram.ts';

export function sumOfGaussians(
  { x, y, weights }: SpotDiagram,
  sigma: number,
  at: RenderOptions,
): Float64Array {
  const out = new Float64Array(at.width * at.height);
  for (let n = 0; n < weights.length; n++) {
    const columns = pixelShares(at.width, at.x + x[n], sigma);
    const rows = pixelShares(at.height, at.y + y[n], sigma);
    for (let j = 0, k = 0; j < at.height; j++)
      for (let i = 0; i < at.width; i++, k++) out[k] += at.flux * weights[n] * rows[j] * columns[i];
  }
  return out;
}

function pixelShares(count: number, centre: number, sigma: number): Float64Array {
  return Float64Array.from(
    { length: count },
    (_, i) => normalBelow((i + 0.5 - centre) / sigma) - normalBelow((i - 0.5 - centre) / sigma),
  );
}

/** Fraction of a unit Gaussian below t, by the series of Marsaglia 2004, J. Stat. Softw. 11 (4); good to 1e-15. */
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
