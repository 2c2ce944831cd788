/** The sums that each step of a fit is solved from, and what is expected beside the picture. */
import { huberBound, noiseVariance } from './ring-weights.ts';

/** What is expected of an unknown before the picture is looked at. */
export interface Expectation {
  readonly unknown: number;
  readonly value: number;
  readonly sigma: number;
}

/** Weight of a pixel: one over its variance, less when it is far off (Huber). */
export function weightOf(
  expected: number,
  residual: number,
  fixedVariance: number,
  unevenness: number,
): number {
  const variance = noiseVariance(fixedVariance, expected) + unevenness * unevenness;
  const off = Math.abs(residual) / Math.sqrt(variance);
  return (off > huberBound ? huberBound / off : 1) / variance;
}

/**
 * hessian = sum(w df df^T), and gradient = sum(w r df): the way down, minus half the gradient of the cost.
 * Most slopes are 0 over much of a picture, as is the weight of a pixel that is not used: the products are
 * summed over the runs of pixels where an unknown counts.
 */
export function normalEquations(
  hessian: Float64Array,
  gradient: Float64Array,
  slopes: readonly Float64Array[],
  residuals: Float64Array,
  weights: Float64Array,
): void {
  const n = gradient.length;
  const weighted = new Float64Array(weights.length);
  const runs = new Int32Array(2 * (Math.ceil(weights.length / leastGap) + 1));
  for (let i = 0; i < n; i++) {
    const si = slopes[i];
    let g = 0;
    let count = 0;
    let end = -leastGap - 1;
    for (let k = 0; k < weights.length; k++) {
      const w = weights[k] * si[k];
      weighted[k] = w;
      if (w === 0) continue;
      g += w * residuals[k];
      if (k > end + leastGap) {
        runs[count] = k;
        count += 2;
      }
      end = k;
      runs[count - 1] = k + 1;
    }
    gradient[i] = g;
    // three products per pass over the pixels, each summed in the same order as alone
    for (let j = 0; j <= i; j += 3) {
      const s0 = slopes[j];
      const s1 = slopes[Math.min(j + 1, i)];
      const s2 = slopes[Math.min(j + 2, i)];
      let [h0, h1, h2] = [0, 0, 0];
      for (let run = 0; run < count; run += 2) {
        const to = runs[run + 1];
        for (let k = runs[run]; k < to; k++) {
          const w = weighted[k];
          h0 += w * s0[k];
          h1 += w * s1[k];
          h2 += w * s2[k];
        }
      }
      set(hessian, n, i, j, h0);
      if (j + 1 <= i) set(hessian, n, i, j + 1, h1);
      if (j + 2 <= i) set(hessian, n, i, j + 2, h2);
    }
  }
}

/** Pixels of no weight that end a run. */
const leastGap = 8;

function set(matrix: Float64Array, n: number, i: number, j: number, value: number): void {
  matrix[i * n + j] = value;
  matrix[j * n + i] = value;
}

/** Add what is expected, as observations of the unknowns themselves. */
export function addExpectations(
  hessian: Float64Array,
  gradient: Float64Array,
  u: Float64Array,
  expectations: readonly Expectation[],
): void {
  for (const { unknown, value, sigma } of expectations) {
    hessian[unknown * (u.length + 1)] += 1 / (sigma * sigma);
    gradient[unknown] += (value - u[unknown]) / (sigma * sigma);
  }
}
