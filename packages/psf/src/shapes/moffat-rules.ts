/** How finely a Moffat star must be integrated across a row of pixels, by the row's distance from it. */

import { exp, log } from '../numerics/exp-log.ts';
import { gaussLegendre, type Quadrature } from '../numerics/quadrature.ts';
import type { Ellipse } from './ellipse.ts';

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
 * n points leave kappa[n] h^(2n + 1) f^(2n) / (2n)! of a row of half-height h, with f^(2n) taken somewhere in it and
 * kappa[n] = 2^(2n + 1) n!^4 / ((2n + 1) (2n)!^2) (Abramowitz & Stegun 25.4.30). Along a column
 * 1 + Q = ((y - y0)^2 + b^2) / a^2 with a = `acrossY`, so by the generating function of the Gegenbauer polynomials
 *
 *   f^(2n) / (2n)! = f C[2n](z) / (a^2 (1 + Q))^n,  |z| = |y - y0| / (a sqrt(1 + Q)) <= sqrt(Q / (1 + Q)).
 */
export function rowRules(ellipse: Ellipse, beta: number): RowRules {
  const { acrossX, acrossY, alongY } = ellipse;
  const steepest = steepestBeyond(beta);
  const logPeak = log((beta - 1) / Math.PI) - log(acrossX) - log(alongY);

  const farEnough: number[] = [];
  let levels = 0;
  for (let h = 0.5; levels === 0 || farEnough[farEnough.length - 1] > 0; h /= 2, levels++) {
    let logKappa = Math.LN2;
    for (let n = 1; n <= orders; n++) {
      logKappa += log((n * n) / (4 * n * n - 1));
      const allowed = log(2 * tolerance) - logPeak - logKappa - 2 * n * log(h / acrossY);
      const place = steepest[n].findIndex((logSteepness) => logSteepness <= allowed);
      if (place === 0) farEnough.push(0);
      else farEnough.push(place < 0 ? Infinity : alongY * distanceAt(place) + h);
    }
  }

  const rules = Array.from({ length: orders }, (_, k) => gaussLegendre(k + 1));
  return { levels, orders, farEnough: Float64Array.from(farEnough), rules };
}

// Distances sqrt(Q) from 0 to 1e9, close together near the star: sinh of equal steps.
const places = 280;
const distanceAt = (place: number): number => {
  const growth = exp(0.078 * place);
  return (growth - 1 / growth) / 2;
};

/**
 * For each order n, the logarithm of the greatest (1 + Q)^(-beta - n) |C[2n](z)| at or beyond each of the places. Where
 * C[2n] passes through 0 its greatest value nearer to z = 0 stands for it.
 */
function steepestBeyond(beta: number): Float64Array[] {
  const steepest = Array.from({ length: orders + 1 }, () => new Float64Array(places));
  const greatest = new Float64Array(orders + 1);
  for (let place = 0; place < places; place++) {
    const q = distanceAt(place) * distanceAt(place);
    const z = Math.sqrt(q / (1 + q));
    // n C[n] = 2 z (n + beta - 1) C[n - 1] - (n + 2 beta - 2) C[n - 2]
    let before = 1;
    let value = 2 * beta * z;
    for (let m = 2; m <= 2 * orders; m++) {
      const after = (2 * z * (m + beta - 1) * value - (m + 2 * beta - 2) * before) / m;
      before = value;
      value = after;
      if (m % 2 === 1) continue;
      const n = m / 2;
      greatest[n] = Math.max(greatest[n], Math.abs(value));
      steepest[n][place] = log(greatest[n]) - (beta + n) * log(1 + q);
    }
  }
  for (let n = 1; n <= orders; n++)
    for (let place = places - 2; place >= 0; place--)
      steepest[n][place] = Math.max(steepest[n][place], steepest[n][place + 1]);
  return steepest;
}
