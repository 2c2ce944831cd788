/** Smoothing and interpolation along a line of equally spaced values. */

/** Convolve the first `length` values with [1 2 1] / 4, in place: two values more. */
export function smooth(values: Float64Array, length: number): void {
  for (let i = length + 1; i >= 0; i--) {
    const here = i >= 1 && i <= length ? values[i - 1] : 0;
    const low = i >= 2 ? values[i - 2] : 0;
    const high = i < length ? values[i] : 0;
    values[i] = (low + 2 * here + high) / 4;
  }
}

/** Weights of the values at -before, -before + 1, ... in the polynomial through them, at t. */
export function fillLagrange(out: Float64Array, t: number, before: number): void {
  for (let j = 0; j < out.length; j++) {
    let weight = 1;
    for (let i = 0; i < out.length; i++) if (i !== j) weight *= (t + before - i) / (j - i);
    out[j] = weight;
  }
}

export function squareSum(values: Float64Array): number {
  let sum = 0;
  for (let k = 0; k < values.length; k++) sum += values[k] * values[k];
  return sum;
}
