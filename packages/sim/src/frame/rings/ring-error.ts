/**
 * Error of a fit whose residuals are not noise alone: the light of a real ring is uneven, and its unevenness
 * is correlated over about the width of the blur. With weights w, derivatives df and residuals r the
 * variance of the score is
 *
 *   B = sum over pixels i, j of K(i - j) q_i q_j^T,   K(d) = exp(-d^2 / 2 L^2),
 *
 * told in two ways: from the residuals themselves, q = w r df with a long L (after Newey & West 1987, Conley
 * 1999; from memory), which sees what is correlated over more than the blur but is made small by the fit;
 * and from the rms unevenness times the light, q = w u df with the L of noise that went through the same
 * blur, which is not.
 */
import { exp } from '@holdfast/psf/numerics';

/** K is taken as 0 beyond this many L: exp(-8) = 0.0003. */
const reachPerLength = 4;

/**
 * B for the maps q of each unknown (0 where a pixel is not used), n * n.
 *
 * @param lengthPx  L of the kernel, px
 */
export function smoothedProducts(
  maps: readonly Float64Array[],
  width: number,
  height: number,
  lengthPx: number,
): Float64Array {
  const n = maps.length;
  const kernel = kernelOf(lengthPx);
  const out = new Float64Array(n * n);
  const along = new Float64Array(width * height);
  const smooth = new Float64Array(width * height);
  for (let a = 0; a < n; a++) {
    smoothRows(along, maps[a], width, height, kernel);
    smoothColumns(smooth, along, width, height, kernel);
    for (let b = 0; b <= a; b++) {
      const other = maps[b];
      let sum = 0;
      for (let k = 0; k < smooth.length; k++) sum += smooth[k] * other[k];
      out[a * n + b] = sum;
      out[b * n + a] = sum;
    }
  }
  return out;
}

function kernelOf(length: number): Float64Array {
  const reach = Math.max(1, Math.ceil(reachPerLength * length));
  return Float64Array.from({ length: reach + 1 }, (_, d) => exp((-d * d) / (2 * length * length)));
}

/** out_i = sum_d K(d) in_(i + d) along rows; beyond their ends there is nothing. */
function smoothRows(
  out: Float64Array,
  values: Float64Array,
  width: number,
  height: number,
  kernel: Float64Array,
): void {
  out.fill(0);
  const reach = Math.min(kernel.length, width) - 1;
  for (let y = 0; y < height; y++) {
    const row = y * width;
    for (let d = -reach; d <= reach; d++) {
      const weight = kernel[Math.abs(d)];
      const to = row + Math.min(width, width - d);
      for (let k = row + Math.max(0, -d); k < to; k++) out[k] += weight * values[k + d];
    }
  }
}

/** The same along columns, row by row. */
function smoothColumns(
  out: Float64Array,
  values: Float64Array,
  width: number,
  height: number,
  kernel: Float64Array,
): void {
  out.fill(0);
  const reach = Math.min(kernel.length, height) - 1;
  for (let d = -reach; d <= reach; d++) {
    const weight = kernel[Math.abs(d)];
    const shift = d * width;
    const to = Math.min(height, height - d) * width;
    for (let k = Math.max(0, -d) * width; k < to; k++) out[k] += weight * values[k + shift];
  }
}
