/**
 * Weighted sums over the noise of a window's pixels, and their covariance: the loops of `known-noise`, on
 * plain arrays.
 */
import type { PixelMoments, Threshold } from './pixel-moments.ts';

/** Sums that are linear in the noise of the pixels; one more is of what a threshold leaves of it. */
export const linearSums = 4;

/** Above it is no pixel. */
export const noThreshold: Threshold = { level: Infinity, kept: 0 };

/** What is known of a stamp's pixels with the star at one place. */
export interface Stamp extends PixelMoments, Threshold {
  /** Sums along each axis. */
  readonly count: number;
  /** Side of the window, px. */
  readonly side: number;
  /** Pixels in a row of the stamp. */
  readonly width: number;
  /** Square around the star: all weights but the distance are 0 beyond it. */
  readonly coreLeft: number;
  readonly coreTop: number;
  readonly coreSide: number;
  readonly mean: Float64Array;
  readonly x: Along;
  readonly y: Along;
  /** 1 / variance of the pixels of the core. */
  readonly inverse: Float64Array;
}

/** Weights along an axis. */
export interface Along {
  /** Distance of each column (row) from the star, px, and a bell over it. */
  readonly from: Float64Array;
  readonly bell: Float64Array;
  /** Change of the star's light per px in the pixels of the core. */
  readonly slope: Float64Array;
}

/** The sums along x, then those along y, over the window that begins at a pixel of the stamp. */
export function sumNoise(
  sums: Float64Array,
  pixels: Float64Array,
  stamp: Stamp,
  left: number,
  top: number,
): void {
  const { x: alongX, y: alongY, inverse, mean, weightMean, count, side, width, level, kept } = stamp;
  const { coreLeft, coreTop, coreSide } = stamp;
  const { from: distanceX, bell: bellX, slope: slopeX } = alongX;
  const { from: distanceY, bell: bellY, slope: slopeY } = alongY;
  let [x0, x1, x2, x3, x4] = [0, 0, 0, 0, 0];
  let [y0, y1, y2, y3, y4] = [0, 0, 0, 0, 0];
  for (let y = top; y < top + side; y++) {
    let [noises, aboves] = [0, 0];
    for (let x = left, k = y * width + left; x < left + side; x++, k++) {
      const pixel = pixels[k];
      const noise = pixel - mean[k];
      const above = (pixel > level ? pixel - level + kept : 0) - weightMean[k];
      x0 += distanceX[x] * noise;
      x4 += distanceX[x] * above;
      noises += noise;
      aboves += above;
    }
    y0 += distanceY[y] * noises;
    y4 += distanceY[y] * aboves;
  }
  const [fromX, endX] = inCore(stamp, left, coreLeft);
  const [fromY, endY] = inCore(stamp, top, coreTop);
  for (let y = fromY; y < endY; y++) {
    let [bells, bellsFrom] = [0, 0];
    for (let x = fromX; x < endX; x++) {
      const k = y * width + x;
      const c = (y - coreTop) * coreSide + x - coreLeft;
      const noise = pixels[k] - mean[k];
      const weighted = noise * inverse[c];
      x1 += slopeX[c] * weighted;
      x2 += slopeX[c] * noise;
      y1 += slopeY[c] * weighted;
      y2 += slopeY[c] * noise;
      const inBell = bellX[x] * noise;
      bells += inBell;
      bellsFrom += distanceX[x] * inBell;
    }
    x3 += bellY[y] * bellsFrom;
    y3 += bellY[y] * distanceY[y] * bells;
  }
  sums[0] = x0;
  sums[1] = x1;
  sums[2] = x2;
  sums[3] = x3;
  sums[count] = y0;
  sums[count + 1] = y1;
  sums[count + 2] = y2;
  sums[count + 3] = y3;
  if (count === linearSums) return;
  sums[linearSums] = x4;
  sums[count + linearSums] = y4;
}

/** Their covariance over frames: count * count along x, then as many along y. */
export function covarianceOfSums(stamp: Stamp, left: number, top: number): Float64Array {
  const { x: alongX, y: alongY, inverse, variance, weightVariance, covariance, count, side, width } = stamp;
  const { coreLeft, coreTop, coreSide } = stamp;
  const out = new Float64Array(2 * count * count);
  // Of the distance, which weighs in all of the window, both axes in one pass: x^2 and 1 of each row.
  let [x00, x40, x44, y00, y40, y44] = [0, 0, 0, 0, 0, 0];
  const distanceX = alongX.from;
  for (let y = top; y < top + side; y++) {
    let [row00, row40, row44] = [0, 0, 0];
    for (let x = left, k = y * width + left; x < left + side; x++, k++) {
      const square = distanceX[x] * distanceX[x];
      x00 += square * variance[k];
      x40 += square * covariance[k];
      x44 += square * weightVariance[k];
      row00 += variance[k];
      row40 += covariance[k];
      row44 += weightVariance[k];
    }
    const square = alongY.from[y] * alongY.from[y];
    y00 += square * row00;
    y40 += square * row40;
    y44 += square * row44;
  }
  const [fromX, endX] = inCore(stamp, left, coreLeft);
  const [fromY, endY] = inCore(stamp, top, coreTop);
  for (let axis = 0; axis < 2; axis++) {
    const { from: distance, bell, slope } = axis === 0 ? alongX : alongY;
    const across = axis === 0 ? alongY.bell : alongX.bell;
    const [c00, c40, c44] = axis === 0 ? [x00, x40, x44] : [y00, y40, y44];
    let [c10, c11, c20, c21, c22, c30, c31, c32, c33] = [0, 0, 0, 0, 0, 0, 0, 0, 0];
    let [c41, c42, c43] = [0, 0, 0];
    for (let y = fromY; y < endY; y++)
      for (let x = fromX; x < endX; x++) {
        const k = y * width + x;
        const c = (y - coreTop) * coreSide + x - coreLeft;
        const w0 = distance[axis === 0 ? x : y];
        const w1 = slope[c] * inverse[c];
        const w2 = slope[c];
        const w3 = w0 * (axis === 0 ? bell[x] * across[y] : bell[y] * across[x]);
        const noise = variance[k];
        // The last sum, above the threshold, weighs by the distance as the first does.
        const shared = covariance[k];
        c10 += w1 * w0 * noise;
        c11 += w1 * w1 * noise;
        c20 += w2 * w0 * noise;
        c21 += w2 * w1 * noise;
        c22 += w2 * w2 * noise;
        c30 += w3 * w0 * noise;
        c31 += w3 * w1 * noise;
        c32 += w3 * w2 * noise;
        c33 += w3 * w3 * noise;
        c41 += w0 * w1 * shared;
        c42 += w0 * w2 * shared;
        c43 += w0 * w3 * shared;
      }
    const triangle = [c00, c10, c11, c20, c21, c22, c30, c31, c32, c33, c40, c41, c42, c43, c44];
    const from = axis * count * count;
    for (let a = 0, at = 0; a < count; a++)
      for (let b = 0; b <= a; b++, at++) {
        out[from + a * count + b] = triangle[at];
        out[from + b * count + a] = triangle[at];
      }
  }
  return out;
}

/** Where a window that begins at a column or row lies in the core: from the first to before the end. */
const inCore = ({ side, coreSide }: Stamp, from: number, core: number): [number, number] => [
  Math.max(from, core),
  Math.min(from + side, core + coreSide),
];
