/** How finely a Moffat star must be integrated across a row of pixels, by the row's distance from it. */
import type { Ellipse } from './ellipse.ts';
import { gaussLegendre, type Quadrature } from './quadrature.ts';

/** Largest error in a pixel that the rules allow, as a fraction of the star's flux. */
const tolerance = 5e-9;

/** Highest order used; where even that does not do, the row is cut in two. */
const orders = 12;

/** Gauss-Legendre rules for rows of height 1, 1/2, 1/4 ... px, and where each may be used. */
export interface RowRules {
  readonly levels: number;
  readonly orders: number;
  /**
   * farEnough[level * orders + n - 1]: least distance, px, from the star to the middle of a row of that level at which
   * the rule of order n is good enough. At the last level the highest order is good enough anywhere.
   */
  readonly farEnough: Float64Array;
  /** The rule of order n stands at n - 1. */
  readonly rules: readonly Quadrature[];
}

/**
 * Rules for a Moffat star of wing exponent `beta` whose core ellipse (Q = 1) is given.
 *
 * Along a column, 1 + Q = (y - z)(y - z*) / a^2 with a = `acrossY`: its zeros lie a sqrt(1 + Q) from the place where Q
 * is taken, at least D = a sqrt(1 + (distance / alongY)^2) from anywhere in the row. Within delta of it the star is
 * therefore at most M = peak (a / (D - delta))^(2 beta), and the ellipse of Gauss-Legendre theory around a row of half
 * height h lies within delta = h (rho - 1 / rho) / 2. So n points leave an error of at most
 * h (64/15) M rho^-2n / (1 - rho^-2) (Trefethen 2008, SIAM Review 50, 67, theorem 4.5) for any delta < D; delta =
 * D n / (n + beta) is near the best.
 */
export function rowRules(ellipse: Ellipse, beta: number): RowRules {
  const { acrossX, acrossY, alongY } = ellipse;
  const logPeak = Math.log((beta - 1) / Math.PI) - Math.log(acrossX) - Math.log(alongY);

  /** Logarithm of the bound over what a row of half-height h may err, at D = acrossY * exp(logD). */
  const excess = (n: number, h: number, logD: number): number => {
    const reach = (n / (n + beta)) * Math.exp(logD) * (acrossY / h);
    const rho = reach + Math.sqrt(reach * reach + 1);
    return (
      Math.log(32 / 15 / tolerance) +
      logPeak +
      2 * beta * (Math.log((n + beta) / beta) - logD) -
      2 * n * Math.log(rho) -
      Math.log(1 - 1 / (rho * rho))
    );
  };

  const farEnough: number[] = [];
  let levels = 0;
  for (let h = 0.5; levels === 0 || farEnough[farEnough.length - 1] > 0; h /= 2, levels++)
    for (let n = 1; n <= orders; n++) {
      const logD = leastLogD((candidate) => excess(n, h, candidate));
      farEnough.push(logD === 0 ? 0 : alongY * Math.sqrt(Math.exp(2 * logD) - 1) + h);
    }

  const rules = Array.from({ length: orders }, (_, k) => gaussLegendre(k + 1));
  return { levels, orders, farEnough: Float64Array.from(farEnough), rules };
}

/** Least log(D / acrossY) >= 0 at which the bound holds; it falls as D grows. */
function leastLogD(excess: (logD: number) => number): number {
  if (excess(0) <= 0) return 0;
  let low = 0;
  let high = 60;
  for (let step = 0; step < 40; step++) {
    const middle = (low + high) / 2;
    if (excess(middle) <= 0) high = middle;
    else low = middle;
  }
  return high;
}
