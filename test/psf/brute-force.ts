/** The slow and sure way to integrate a star over a pixel: small squares, many points in each. */
import { gaussLegendre } from '../../packages/psf/src/numerics/quadrature.ts';

/**
 * Integral of a density over the pixel at (i, j), which is cut into squares of at most
 * `cellPx(dx, dy, half)`, the scale on which the density changes near the square of half-width `half` around
 * (dx, dy); 20 x 20 points in each.
 */
export function pixelByBruteForce(
  density: (dx: number, dy: number) => number,
  cellPx: (dx: number, dy: number, half: number) => number,
  dx: number,
  dy: number,
  half = 0.5,
): number {
  if (2 * half > cellPx(dx, dy, half)) {
    const h = half / 2;
    let sum = 0;
    for (const x of [dx - h, dx + h])
      for (const y of [dy - h, dy + h]) sum += pixelByBruteForce(density, cellPx, x, y, h);
    return sum;
  }
  const { nodes, weights } = gaussLegendre(20);
  let sum = 0;
  for (let m = 0; m < 20; m++) {
    let line = 0;
    for (let n = 0; n < 20; n++) line += weights[n] * density(dx + half * nodes[n], dy + half * nodes[m]);
    sum += weights[m] * line;
  }
  return sum * half * half;
}
