/**
 * Symmetric systems of a handful of unknowns: matrices are flat, row-major, n * n, in arrays that may be
 * larger.
 */

/**
 * Cholesky factor L of a symmetric positive definite matrix, A = L L^T; `l` may be `a` itself. Only the lower
 * triangle of either is looked at.
 *
 * @returns false when A is not positive definite, that is when a pivot falls to `least` of its diagonal
 */
export function factorCholesky(l: Float64Array, a: Float64Array, n: number, least = 1e-14): boolean {
  for (let i = 0; i < n; i++)
    for (let j = 0; j <= i; j++) {
      const whole = a[i * n + j];
      let rest = whole;
      for (let k = 0; k < j; k++) rest -= l[i * n + k] * l[j * n + k];
      if (i !== j) l[i * n + j] = rest / l[j * n + j];
      else {
        if (!(rest > least * whole && whole < Infinity)) return false;
        l[i * n + i] = Math.sqrt(rest);
      }
    }
  return true;
}

/** Solve L L^T x = b; `x` may be `b` itself. */
export function solveCholesky(x: Float64Array, l: Float64Array, b: Float64Array, n: number): void {
  for (let i = 0; i < n; i++) {
    let rest = b[i];
    for (let k = 0; k < i; k++) rest -= l[i * n + k] * x[k];
    x[i] = rest / l[i * n + i];
  }
  for (let i = n - 1; i >= 0; i--) {
    let rest = x[i];
    for (let k = i + 1; k < n; k++) rest -= l[k * n + i] * x[k];
    x[i] = rest / l[i * n + i];
  }
}

/**
 * The Cholesky factor of a matrix scaled to a unit diagonal, and the scale. It evens out rounding where the
 * unknowns differ by many orders of magnitude (pixels, electrons).
 */
interface ScaledFactor {
  readonly l: Float64Array;
  readonly scale: Float64Array;
}

function factorScaled(a: Float64Array, n: number, leastPivot: number): ScaledFactor | undefined {
  const l = new Float64Array(n * n);
  const scale = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    if (!(a[i * n + i] > 0 && a[i * n + i] < Infinity)) return undefined;
    scale[i] = 1 / Math.sqrt(a[i * n + i]);
  }
  for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) l[i * n + j] = a[i * n + j] * scale[i] * scale[j];
  return factorCholesky(l, l, n, leastPivot) ? { l, scale } : undefined;
}

/** Solve A x = b for a symmetric A; undefined when A is not positive definite to rounding. */
export function solveSymmetric(a: Float64Array, b: Float64Array): Float64Array | undefined {
  const n = b.length;
  const factor = factorScaled(a, n, 1e-14);
  if (factor === undefined) return undefined;
  const x = b.map((value, i) => value * factor.scale[i]);
  solveCholesky(x, factor.l, x, n);
  return x.map((value, i) => value * factor.scale[i]);
}

/**
 * Inverse of a symmetric positive definite matrix, or undefined when it is not safely one.
 *
 * @param leastPivot below this share of its diagonal a pivot is cancellation error: the unknowns are not all
 *   determined
 */
export function invertSymmetric(a: Float64Array, n: number, leastPivot = 1e-10): Float64Array | undefined {
  const factor = factorScaled(a, n, leastPivot);
  if (factor === undefined) return undefined;
  const { l, scale } = factor;
  const inverse = new Float64Array(n * n);
  const column = new Float64Array(n);
  for (let j = 0; j < n; j++) {
    column.fill(0);
    column[j] = 1;
    solveCholesky(column, l, column, n);
    for (let i = 0; i < n; i++) inverse[i * n + j] = column[i] * scale[i] * scale[j];
  }
  return inverse;
}

/**
 * A B A for symmetric A and B: the sandwich that carries the variance B of a gradient through an inverse
 * Hessian A.
 */
export function sandwich(a: Float64Array, b: Float64Array, n: number): Float64Array {
  const product = new Float64Array(n * n);
  const out = new Float64Array(n * n);
  multiply(product, a, b, n);
  multiply(out, product, a, n);
  return out;
}

function multiply(out: Float64Array, a: Float64Array, b: Float64Array, n: number): void {
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++) {
      let sum = 0;
      for (let k = 0; k < n; k++) sum += a[i * n + k] * b[k * n + j];
      out[i * n + j] = sum;
    }
}
