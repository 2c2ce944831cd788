/** Symmetric positive definite matrices of a handful of unknowns, flat and row-major. */

/** Solve A x = b. Undefined when A is not positive definite to rounding. */
export function solveSymmetric(a: Float64Array, b: Float64Array): Float64Array | undefined {
  const n = b.length;
  const factor = factorScaled(a, n);
  return factor && solveFactored(factor, b);
}

/** Inverse of A, or undefined when it is not positive definite to rounding. */
export function invertSymmetric(a: Float64Array, n: number): Float64Array | undefined {
  const factor = factorScaled(a, n);
  if (factor === undefined) return undefined;
  const out = new Float64Array(n * n);
  const unit = new Float64Array(n);
  for (let j = 0; j < n; j++) {
    unit.fill(0);
    unit[j] = 1;
    const column = solveFactored(factor, unit);
    for (let i = 0; i < n; i++) out[i * n + j] = column[i];
  }
  return out;
}

/** A B A for symmetric A and B. */
export function sandwich(a: Float64Array, b: Float64Array, n: number): Float64Array {
  return product(product(a, b, n), a, n);
}

function product(a: Float64Array, b: Float64Array, n: number): Float64Array {
  const out = new Float64Array(n * n);
  for (let i = 0; i < n; i++)
    for (let k = 0; k < n; k++)
      for (let j = 0, aik = a[i * n + k]; j < n; j++) out[i * n + j] += aik * b[k * n + j];
  return out;
}

interface Factor {
  /** Lower triangle of the Cholesky factor of A scaled to a unit diagonal. */
  readonly lower: Float64Array;
  readonly scale: Float64Array;
}

function factorScaled(a: Float64Array, n: number): Factor | undefined {
  const scale = new Float64Array(n);
  const lower = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    // the unknowns differ by orders of magnitude (pixels, electrons): a unit diagonal makes rounding even
    if (!(a[i * n + i] > 0 && a[i * n + i] < Infinity)) return undefined;
    scale[i] = 1 / Math.sqrt(a[i * n + i]);
  }
  for (let i = 0; i < n; i++)
    for (let j = 0; j <= i; j++) {
      let rest = a[i * n + j] * scale[i] * scale[j];
      for (let k = 0; k < j; k++) rest -= lower[i * n + k] * lower[j * n + k];
      if (i !== j) lower[i * n + j] = rest / lower[j * n + j];
      else if (rest > 1e-14) lower[i * n + i] = Math.sqrt(rest);
      else return undefined;
    }
  return { lower, scale };
}

function solveFactored({ lower, scale }: Factor, b: Float64Array): Float64Array {
  const n = scale.length;
  const x = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    let rest = b[i] * scale[i];
    for (let k = 0; k < i; k++) rest -= lower[i * n + k] * x[k];
    x[i] = rest / lower[i * n + i];
  }
  for (let i = n - 1; i >= 0; i--) {
    let rest = x[i];
    for (let k = i + 1; k < n; k++) rest -= lower[k * n + i] * x[k];
    x[i] = rest / lower[i * n + i];
  }
  for (let i = 0; i < n; i++) x[i] *= scale[i];
  return x;
}
