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

/** L spans at least so many bins. */
const binsPerLength = 2;

/**
 * B for the maps q of each unknown (0 where a pixel is not used), n * n. A kernel of many pixels is taken
 * over sums of q in bins: as wide as K blurred by the places of two pixels in their bins, whose difference
 * has a variance of (bin^2 - 1) / 6. A pixel counts with itself by K(0) all the same.
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
  const bin = Math.max(1, Math.floor(lengthPx / binsPerLength));
  const columns = Math.ceil(width / bin);
  const rows = Math.ceil(height / bin);
  const binned = bin === 1 ? maps : maps.map((map) => inBins(map, width, height, bin));
  const kernel = kernelOf(lengthPx, bin);
  const ownLost = 1 - kernel[0] * kernel[0];
  const out = new Float64Array(n * n);
  const along = new Float64Array(columns * rows);
  const smooth = new Float64Array(columns * rows);
  for (let a = 0; a < n; a++) {
    smoothRows(along, binned[a], columns, rows, kernel);
    smoothColumns(smooth, along, columns, rows, kernel);
    for (let b = 0; b <= a; b++) {
      const other = binned[b];
      let sum = 0;
      for (let k = 0; k < smooth.length; k++) sum += smooth[k] * other[k];
      if (bin > 1) sum += ownLost * product(maps[a], maps[b]);
      out[a * n + b] = sum;
      out[b * n + a] = sum;
    }
  }
  return out;
}

function product(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let k = 0; k < a.length; k++) sum += a[k] * b[k];
  return sum;
}

/** Sums over squares of bin x bin pixels; the last ones of a row or column may be cut. */
function inBins(map: Float64Array, width: number, height: number, bin: number): Float64Array {
  const columns = Math.ceil(width / bin);
  const out = new Float64Array(columns * Math.ceil(height / bin));
  for (let y = 0, k = 0; y < height; y++) {
    const row = Math.floor(y / bin) * columns;
    for (let x = 0; x < width; x++, k++) out[row + Math.floor(x / bin)] += map[k];
  }
  return out;
}

/** Along one axis, per bin. */
function kernelOf(lengthPx: number, bin: number): Float64Array {
  const length = Math.sqrt(lengthPx * lengthPx + (bin * bin - 1) / 6) / bin;
  const height = lengthPx / (bin * length);
  const reach = Math.max(1, Math.ceil(reachPerLength * length));
  return Float64Array.from({ length: reach + 1 }, (_, d) => height * exp((-d * d) / (2 * length * length)));
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
