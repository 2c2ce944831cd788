/** Sums over pixels under a Gaussian weight centered on a trial position. */
import { normalInto } from '@holdfast/psf/numerics';
import type { PixelList } from '../pixels/valid-pixels.ts';

/** FWHM of a Gaussian over its rms width. */
export const gaussianFwhmPerSigma = 2 * Math.sqrt(2 * Math.LN2);

/**
 * With W the weight, 1 in its middle, v the pixel, (dx, dy) its place from the weight's center, V its
 * variance.
 */
export interface WeightedSums {
  /** sum(W v) */
  light: number;
  /** sum(W v dx), sum(W v dy): both vanish at the weighted center of mass. */
  momentX: number;
  momentY: number;
  /**
   * sum(W v (1 - dx^2 / s^2)) and so on, s the rms width of the weight: the fall of the moments as the center
   * moves on.
   */
  slopeXX: number;
  slopeXY: number;
  slopeYY: number;
  /** sum(W v (dx^2 + dy^2)) */
  spread: number;
}

/** Of the noise in the sums. */
export interface WeightedNoise {
  /** sum(W^2 V) */
  light: number;
  /** sum(W^2 V dx^2) and so on. */
  xx: number;
  xy: number;
  yy: number;
  /** What an electron more in every pixel adds to light and moments. */
  commonLight: number;
  commonX: number;
  commonY: number;
}

export interface WeightedSumming {
  /** Fill `sums` for a weight centered on (x, y). */
  sum(sums: WeightedSums, list: PixelList, value: Float64Array, x: number, y: number): void;
  /** Fill `noise` for the weight of the last `sum`. */
  sumNoise(noise: WeightedNoise, list: PixelList, variance: Float64Array, x: number, y: number): void;
}

export const noSums = (): WeightedSums => ({
  light: 0,
  momentX: 0,
  momentY: 0,
  slopeXX: 0,
  slopeXY: 0,
  slopeYY: 0,
  spread: 0,
});

export const noNoise = (): WeightedNoise => ({
  light: 0,
  xx: 0,
  xy: 0,
  yy: 0,
  commonLight: 0,
  commonX: 0,
  commonY: 0,
});

/** For lists of an image of this size. */
export function prepareWeightedSums(width: number, height: number, weightFwhmPx: number): WeightedSumming {
  const sigma = weightFwhmPx / gaussianFwhmPerSigma;
  const perVariance = 1 / (sigma * sigma);
  const columns = new Float64Array(width);
  const rows = new Float64Array(height);
  return {
    sum(out, list, value, x, y) {
      const { column, rowStart, left, right, top, bottom } = list;
      fillGaussian(columns, left, right, x, sigma);
      fillGaussian(rows, top, bottom, y, sigma);
      let light = 0;
      let momentX = 0;
      let momentY = 0;
      let xx = 0;
      let xy = 0;
      let yy = 0;
      for (let row = top; row <= bottom; row++) {
        const end = rowStart[row + 1];
        let s0 = 0;
        let s1 = 0;
        let s2 = 0;
        for (let k = rowStart[row]; k < end; k++) {
          const dx = column[k] - x;
          const w = columns[column[k]] * value[k];
          s0 += w;
          s1 += w * dx;
          s2 += w * dx * dx;
        }
        const g = rows[row];
        const dy = row - y;
        light += g * s0;
        momentX += g * s1;
        momentY += g * dy * s0;
        xx += g * s2;
        xy += g * dy * s1;
        yy += g * dy * dy * s0;
      }
      out.light = light;
      out.momentX = momentX;
      out.momentY = momentY;
      out.slopeXX = light - xx * perVariance;
      out.slopeXY = -xy * perVariance;
      out.slopeYY = light - yy * perVariance;
      out.spread = xx + yy;
    },
    sumNoise(out, { count, column, row }, variance, x, y) {
      let light = 0;
      let xx = 0;
      let xy = 0;
      let yy = 0;
      let commonLight = 0;
      let commonX = 0;
      let commonY = 0;
      for (let k = 0; k < count; k++) {
        const dx = column[k] - x;
        const dy = row[k] - y;
        const w = columns[column[k]] * rows[row[k]];
        const s = w * w * variance[k];
        light += s;
        xx += s * dx * dx;
        xy += s * dx * dy;
        yy += s * dy * dy;
        commonLight += w;
        commonX += w * dx;
        commonY += w * dy;
      }
      out.light = light;
      out.xx = xx;
      out.xy = xy;
      out.yy = yy;
      out.commonLight = commonLight;
      out.commonX = commonX;
      out.commonY = commonY;
    },
  };
}

const normal = new Float64Array(2);
const rootOfTwoPi = Math.sqrt(2 * Math.PI);

/** exp(-(i - center)^2 / (2 sigma^2)) for i from `first` to `last`. */
function fillGaussian(out: Float64Array, first: number, last: number, center: number, sigma: number): void {
  for (let i = first; i <= last; i++) {
    normalInto(normal, (i - center) / sigma);
    out[i] = rootOfTwoPi * normal[1];
  }
}
