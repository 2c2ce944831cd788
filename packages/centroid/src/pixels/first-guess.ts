/**
 * Where and how wide the star is, roughly and without a model: the start of iterative estimators and the
 * center of the first window when the caller names none.
 */
import { selectKth } from '@holdfast/psf/numerics';
import type { PixelList } from './valid-pixels.ts';

export interface FirstGuess {
  /** Position, px. */
  x: number;
  y: number;
  /** Rms width of a Gaussian that covers the same area at half maximum, px. */
  sigmaPx: number;
  /** Electrons of that Gaussian. */
  flux: number;
  /** Electrons per pixel beside the star. */
  level: number;
}

/**
 * Share of the pixels that lie below the level taken as background: a ring may fill most of a tight window.
 */
const levelQuantile = 0.25;

/** Variance that the smoothing below adds to a star, px^2. */
const smoothingVariance = 1;

/**
 * Prepare for lists of up to `capacity` pixels. The function fills `guess` and says whether anything stands
 * out at all.
 *
 * The pixels are smoothed by the binomial [1 4 6 4 1] / 16 along rows and columns, which keeps single hot
 * pixels and noise from posing as the peak; then the center of mass of what exceeds half of the peak is
 * taken, so that rings and comets are met in their middle.
 */
export function prepareFirstGuess(capacity: number): (guess: FirstGuess, list: PixelList) => boolean {
  const dense = new Float64Array(capacity);
  const half = new Float64Array(capacity);
  return (guess, list) => {
    const { count, column, row, value, left, top } = list;
    const width = list.right - left + 1;
    const height = list.bottom - top + 1;
    for (let k = 0; k < count; k++) half[k] = value[k];
    const level = selectKth(half, count, Math.floor(levelQuantile * (count - 1)));
    if (count === width * height) for (let k = 0; k < count; k++) dense[k] = value[k] - level;
    else {
      dense.fill(0, 0, width * height);
      for (let k = 0; k < count; k++) dense[(row[k] - top) * width + column[k] - left] = value[k] - level;
    }
    smoothLines(half, dense, height, width, width, 1);
    smoothLines(dense, half, width, height, 1, width);
    let peak = 0;
    for (let k = 0; k < width * height; k++) if (dense[k] > peak) peak = dense[k];
    if (!(peak > 0)) return false;
    const threshold = peak / 2;
    let total = 0;
    let sumX = 0;
    let sumY = 0;
    let area = 0;
    for (let y = 0, k = 0; y < height; y++)
      for (let x = 0; x < width; x++, k++) {
        const w = dense[k] - threshold;
        if (w <= 0) continue;
        total += w;
        sumX += w * x;
        sumY += w * y;
        area++;
      }
    // area = pi (FWHM / 2)^2 and FWHM^2 = 8 ln 2 sigma^2
    const smoothedVariance = area / (2 * Math.PI * Math.LN2);
    guess.x = left + sumX / total;
    guess.y = top + sumY / total;
    guess.sigmaPx = Math.sqrt(Math.max(smoothedVariance - smoothingVariance, 0.25));
    guess.flux = 2 * Math.PI * smoothedVariance * peak;
    guess.level = level;
    return true;
  };
}

/** [1 4 6 4 1] / 16 along each of `lines` lines of `length` pixels, zeros beyond the ends. */
function smoothLines(
  out: Float64Array,
  values: Float64Array,
  lines: number,
  length: number,
  lineStride: number,
  pixelStride: number,
): void {
  for (let line = 0; line < lines; line++) {
    let k = line * lineStride;
    let far = 0;
    let near = 0;
    let here = values[k];
    let next = length > 1 ? values[k + pixelStride] : 0;
    for (let i = 2; i < length; i++, k += pixelStride) {
      const after = values[k + 2 * pixelStride];
      out[k] = (far + after + 4 * (near + next) + 6 * here) / 16;
      far = near;
      near = here;
      here = next;
      next = after;
    }
    if (length > 1) {
      out[k] = (far + 4 * (near + next) + 6 * here) / 16;
      far = near;
      near = here;
      here = next;
      k += pixelStride;
    }
    out[k] = (far + 4 * near + 6 * here) / 16;
  }
}
