/** Gauss-Legendre quadrature on [-1, 1]. */
import { writePhasor } from './angle.ts';

export interface Quadrature {
  /** Where to evaluate the integrand, ascending, symmetric about 0. */
  readonly nodes: Float64Array;
  /** What each value counts; they sum to 2. */
  readonly weights: Float64Array;
}

const known = new Map<number, Quadrature>();

/**
 * Nodes and weights of the Gauss-Legendre rule with `n` points, exact for polynomials up to degree 2n - 1.
 *
 *   integral from -1 to 1 of f(t) dt = sum over k of weights[k] * f(nodes[k])
 *
 * Newton's method on the Legendre recurrence (k + 1) P[k+1] = (2k + 1) t P[k] - k P[k-1], from the usual
 * start cos(pi (k + 3/4) / (n + 1/2)) (Abramowitz & Stegun 22.16.6 and 25.4.29). The rule of each order is
 * made once; do not write to it.
 *
 * ```ts
 * const { nodes, weights } = gaussLegendre(5)
 * let integralOfExp = 0
 * for (let k = 0; k < 5; k++) integralOfExp += weights[k] * Math.exp(nodes[k]) // e - 1/e to 1e-9
 * ```
 * @param n number of points, a whole number from 1 to 4096 (the work grows as n^2)
 * @throws RangeError if n is not such a number
 */
export function gaussLegendre(n: number): Quadrature {
  const ready = known.get(n);
  if (ready !== undefined) return ready;
  if (!Number.isInteger(n) || n < 1 || n > 4096)
    throw new RangeError(`n must be a whole number from 1 to 4096, got ${n}`);

  const nodes = new Float64Array(n);
  const weights = new Float64Array(n);
  const start = new Float64Array(2);
  for (let k = 0; k < n >> 1; k++) {
    writePhasor(start, 0, (k + 0.75) / (2 * n + 1));
    let t = start[0];
    let slope = 1;
    // Newton doubles the digits each time; from this start six steps are ample, and the last one is for the
    // slope.
    for (let step = 0; step < 8; step++) {
      let before = 1;
      let value = t;
      for (let degree = 1; degree < n; degree++) {
        const after = ((2 * degree + 1) * t * value - degree * before) / (degree + 1);
        before = value;
        value = after;
      }
      slope = (n * (before - t * value)) / ((1 - t) * (1 + t));
      const change = value / slope;
      t -= change;
      if (Math.abs(change) < 1e-16) break;
    }
    nodes[k] = -t;
    nodes[n - 1 - k] = t;
    weights[k] = weights[n - 1 - k] = 2 / ((1 - t) * (1 + t) * slope * slope);
  }
  if (n % 2 === 1) weights[(n - 1) / 2] = middleWeight(n);

  const made = { nodes, weights };
  known.set(n, made);
  return made;
}

/** Weight of the node at 0 of an odd rule: 2 / (n P[n-1](0))^2. */
function middleWeight(n: number): number {
  let value = 1;
  for (let degree = 2; degree < n; degree += 2) value *= -(degree - 1) / degree;
  return 2 / (n * value * (n * value));
}
