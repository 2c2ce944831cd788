/**
 * How a Moffat star is integrated over pixels: along each row by a table of the profile's integral, across
 * the row by Gauss-Legendre rules of as many points as its distance from the star asks for.
 */
import { exp, log } from '../numerics/exp-log.ts';
import { gaussLegendre, type Quadrature } from '../numerics/quadrature.ts';
import type { Ellipse } from './ellipse.ts';

/** What `moffatIntegral` looks up, for one wing exponent. */
export interface MoffatTable {
  /**
   * Eight numbers an interval: its middle t0, then the Taylor coefficients d^0 ... d^6 of the integral about
   * t0.
   */
  readonly intervals: Float64Array;
  /** Every octave of 1 + |t| has 2^bits intervals of equal width. */
  readonly bits: number;
  /** Where the table ends, and the integral up to there. */
  readonly end: number;
  readonly total: number;
}

/**
 * Table of the integral of (1 + u^2)^-beta for `moffatIntegral`.
 *
 * Every octave of 1 + |t| has 2^bits equal intervals, so their half-width is below 2^-(bits + 1/2) of the
 * distance sqrt(1 + t^2) to the poles of the integrand at +-i, and the first neglected term of the Taylor
 * series is at most (2 beta)_6 / 7! times the seventh power of that. `bits` is chosen to keep it below 1e-11.
 * The table ends where less than 1e-13 of the integral is left (for beta < 1.3, whose light lies mostly
 * further out than any stamp: at |t| = 2^25 or more, with less than 2e-8 left).
 *
 * @param beta in [1.01, 100]
 */
export function makeMoffatTable(beta: number): MoffatTable {
  let leftOut = 1e11 / 5040;
  for (let k = 0; k < 6; k++) leftOut *= (2 * beta + k) / Math.SQRT2;
  let bits = 0;
  for (leftOut /= Math.SQRT2; leftOut > 1; leftOut /= 128) bits++;

  const perOctave = 1 << bits;
  const octaves = Math.min(31 - bits, Math.ceil(1 + 43 / (2 * beta - 1)));
  const size = perOctave * octaves;
  const intervals = new Float64Array(8 * size);
  const { nodes, weights } = gaussLegendre(8);
  let start = 0;
  let integral = 0;
  let octave = 1;
  for (let k = 0; k < size; k++) {
    if (k > 0 && k % perOctave === 0) octave *= 2;
    const halfWidth = octave / (2 * perOctave);
    const t0 = start + halfWidth;
    // The integral goes on by half an interval at a time, from its start to its middle and from there to its
    // end.
    const quarter = halfWidth / 2;
    let toMiddle = 0;
    let toEnd = 0;
    for (let n = 0; n < nodes.length; n++) {
      toMiddle += quarter * weights[n] * profile(start + quarter * (1 + nodes[n]), beta);
      toEnd += quarter * weights[n] * profile(t0 + quarter * (1 + nodes[n]), beta);
    }
    const at = 8 * k;
    intervals[at] = t0;
    intervals[at + 1] = integral + toMiddle;
    // (1 + t^2) f' = -2 beta t f gives the Taylor coefficients a[n] of f = (1 + t^2)^-beta one from the
    // other.
    let before = 0;
    let a = profile(t0, beta);
    for (let n = 0; n < 6; n++) {
      intervals[at + 2 + n] = a / (n + 1);
      const after = -(2 * t0 * (n + beta) * a + (n - 1 + 2 * beta) * before) / ((1 + t0 * t0) * (n + 1));
      before = a;
      a = after;
    }
    integral += toMiddle + toEnd;
    start += 2 * halfWidth;
  }
  return { intervals, bits, end: start, total: integral };
}

function profile(t: number, beta: number): number {
  return exp(-beta * log(1 + t * t));
}

/** The integral of (1 + u^2)^-beta from 0 to t, with an error below 1e-11, in 6 ns. Odd in t. */
export function moffatIntegral({ intervals, bits, end, total }: MoffatTable, t: number): number {
  const u = Math.abs(t);
  let value = total;
  if (u < end) {
    // The leading bits of 1 + |t| name the octave and the interval within it.
    const scaled = ((1 + u) * (1 << bits)) | 0;
    const octave = 31 - bits - Math.clz32(scaled);
    const at = 8 * (((octave - 1) << bits) + (scaled >> octave));
    const d = u - intervals[at];
    value =
      intervals[at + 1] +
      d *
        (intervals[at + 2] +
          d *
            (intervals[at + 3] +
              d *
                (intervals[at + 4] +
                  d * (intervals[at + 5] + d * (intervals[at + 6] + d * intervals[at + 7])))));
  }
  return t < 0 ? -value : value;
}

/** Largest error in a pixel that the rules allow, as a fraction of the star's flux. */
const tolerance = 5e-9;

/** Highest order used; where even that does not do, the row is cut in two. */
const orders = 12;

/** Gauss-Legendre rules for rows of height 1, 1/2, 1/4 ... px, and where each may be used. */
export interface RowRules {
  readonly levels: number;
  readonly orders: number;
  /**
   * farEnough[level * orders + n - 1]: least distance, px, from the star to the middle of a row of that level
   * at which the rule of order n is good enough. At the last level the highest order is good enough anywhere.
   */
  readonly farEnough: Float64Array;
  /** The rule of order n stands at n - 1. */
  readonly rules: readonly Quadrature[];
}

/**
 * Rules for a Moffat star of wing exponent `beta` whose core ellipse (Q = 1) is given.
 *
 * n points leave kappa[n] h^(2n + 1) f^(2n) / (2n)! of a row of half-height h, with f^(2n) taken somewhere in
 * it and kappa[n] = 2^(2n + 1) n!^4 / ((2n + 1) (2n)!^2) (Abramowitz & Stegun 25.4.30). Along a column 1 + Q
 * = ((y - y0)^2 + b^2) / a^2 with a = `acrossY`, so by the generating function of the Gegenbauer polynomials
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
 * For each order n, the logarithm of the greatest (1 + Q)^(-beta - n) |C[2n](z)| at or beyond each of the
 * places. Where C[2n] passes through 0 its greatest value nearer to z = 0 stands for it.
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
