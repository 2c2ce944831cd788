/**
 * How many Gauss-Legendre points are enough to add up blurred light along a line: few where the blur is wide,
 * many where the light moves by many widths of it, and a number that is known beforehand.
 */
import { exp, log } from '../numerics/exp-log.ts';

/**
 * The least number of points that leaves at most `tolerance` of the light in any pixel.
 *
 * For an integrand that is analytic in the ellipse with foci -1 and 1 and half axes (g + 1/g) / 2 and (g -
 * 1/g) / 2, and at most M in it, the rule of n points leaves at most (64 / 15) M g^-2n / (1 - g^-2) of an
 * integral over [-1, 1], which has length 2 (Trefethen, SIAM Review 50, 67, 2008, theorem 4.5). A Gaussian
 * that is moved by the imaginary distance i d is at most exp(d^2 / 2 s^2) in any pixel.
 *
 * @param movedBy d(g) / s: greatest imaginary part on that ellipse of where the light lands, in rms widths of
 *   the blur
 */
export function pointsForBlur(movedBy: (g: number) => number, tolerance: number): number {
  let least = Infinity;
  for (let logG = 1 / 1024; logG < 8; logG *= 1.25) {
    const g = exp(logG);
    const d = movedBy(g);
    const scale = log(32 / 15 / (1 - 1 / (g * g)) / tolerance);
    least = Math.min(least, (scale + (d * d) / 2) / (2 * logG));
  }
  return Math.max(1, Math.ceil(least));
}
