/** The least possible error of a position: the Cramer-Rao bound of a star on pixels. */

import { invertSymmetric, requireBoolean, requireNames } from '@holdfast/psf/numerics';
import type { Image, ImageSize, Noise } from '../pixels/centroid.ts';
import { emptyVariance } from '../pixels/estimator-options.ts';
import { sizeOf } from '../pixels/image-view.ts';
import { copyPixels } from '../pixels/valid-pixels.ts';

/** Expected star and how each pixel changes as the star moves by 1 px along +x and +y. */
export interface ExpectedStar {
  /** Expected electrons per pixel. */
  readonly image: Image;
  /** Its derivative by the star's x, electrons per px. */
  readonly gradientX: Image;
  /** Its derivative by the star's y, electrons per px. */
  readonly gradientY: Image;
}

/** What else than the position is unknown. */
export interface PositionBoundOptions {
  /** What is unknown beside the position; by default flux and background are known. */
  readonly free?: { readonly flux?: boolean; readonly background?: boolean };
}

/** The least possible error of a position, 1 sigma, px. */
export interface PositionBound {
  /**
   * Least 1 sigma error of x and y that an unbiased estimator can have, px. Infinity when the image tells
   * nothing.
   */
  readonly sigmaX: number;
  /** The same along y, px. */
  readonly sigmaY: number;
  /** Flux over its own least error. 0 when there is no flux. */
  readonly snr: number;
  /** Correlation of the errors of x and y, -1 to 1; 0 for a star with a symmetry axis along x or y. */
  readonly correlationXY: number;
  /**
   * Share by which gradients taken from the image alone may make sigmaX and sigmaY too large, by what half
   * their order changes; they are too large by 1.5 times it at most. 0 with gradients given. Above 0.02 or so
   * give gradients: the pixels hardly sample the star.
   */
  readonly gradientUncertainty: number;
}

/**
 * Cramer-Rao bound of a star's position.
 *
 *   F_ab = sum over pixels of (dI/da) (dI/db) / (I + backgroundE + readNoiseE^2),   covariance >= F^-1
 *
 * (Winick 1986, J. Opt. Soc. Am. A 3, 1809; read noise as an added variance, which is exact at either end and
 * the usual approximation between). Unknowns are x and y, with `free` also the flux and a common background.
 * No light beyond the image counts: an image that cuts off the star gives the bound of that cut.
 *
 * From an image alone the gradients come by central differences of order 16 of its square root, which is
 * smoother than the image and loses nothing where the light fades out. For a pixel-integrated Gaussian this
 * is right to 0.6 % at FWHM 1.8 px, 0.06 % from 2.4 px on and 1e-5 from 3.5 px on, always on the large side;
 * for sharper images give exact gradients: at 1.5 px it is 2 % off, at 1.2 px 4 to 9 %. `gradientUncertainty`
 * says so.
 *
 * ```ts
 * const expected = renderStar({ kind: 'gaussian', fwhmPx: 3.5 }, { width: 32, height: 32, x: 15.2, y: 16, flux: 1000 })
 * const { sigmaX } = positionBound(expected, { readNoiseE: 2, backgroundE: 10 })
 * ```
 * @param expected the star's own expected electrons per pixel, without background; non-finite pixels carry no
 *   information
 * @throws RangeError or TypeError when the noise is negative or not a number, or the images differ in size
 */
export function positionBound(
  expected: Image | ExpectedStar,
  noise: Noise,
  options: PositionBoundOptions = {},
): PositionBound {
  const image = 'image' in expected ? expected.image : expected;
  const size = sizeOf(image);
  const { width, height } = size;
  const empty = emptyVariance(noise);
  requireNames('options', options, 'free');
  if (options.free !== undefined) requireNames('options.free', options.free, 'flux background');
  const freeFlux = requireBoolean('free.flux', options.free?.flux ?? false);
  const freeBackground = requireBoolean('free.background', options.free?.background ?? false);

  const light = copyPixels(image, size, undefined);
  const exact = 'image' in expected;
  const byX = exact ? copyPixels(expected.gradientX, size, undefined) : new Float64Array(light.length);
  const byY = exact ? copyPixels(expected.gradientY, size, undefined) : new Float64Array(light.length);
  if (!exact) {
    differentiate(byX, light, height, width, width, 1, reach);
    differentiate(byY, light, width, height, 1, width, reach);
  }
  const all = sumInformation(light, byX, byY, empty);
  // Unknowns: x, y, relative flux, background. One that no pixel tells of stays out: it has no bound, the
  // others have.
  const used = [0, 1, ...(freeFlux ? [2] : []), ...(freeBackground ? [3] : [])].filter((a) => all[a * 5] > 0);
  const n = used.length;
  const matrix = Float64Array.from(
    { length: n * n },
    (_, i) => all[used[Math.floor(i / n)] * 4 + used[i % n]],
  );
  const covariance = invertSymmetric(matrix, n);
  const fluxOnly = freeBackground
    ? all[10] - (all[11] * all[11]) / all[15] // the background's share projected out
    : all[10];
  const snr = fluxOnly > 0 && fluxOnly < Infinity ? Math.sqrt(fluxOnly) : 0;
  const variance = (a: number, b: number): number => {
    const i = used.indexOf(a);
    const j = used.indexOf(b);
    return covariance === undefined || i < 0 || j < 0 ? Infinity : covariance[i * n + j];
  };
  const sigmaX = Math.sqrt(variance(0, 0));
  const sigmaY = Math.sqrt(variance(1, 1));
  const both = sigmaX < Infinity && sigmaY < Infinity;
  return {
    sigmaX,
    sigmaY,
    snr,
    correlationXY: both ? variance(0, 1) / (sigmaX * sigmaY) : 0,
    gradientUncertainty: exact ? 0 : gradientUncertainty(light, all, size, empty),
  };
}

/** Share of sigma that the order of the differences decides: what half the order makes of the information. */
function gradientUncertainty(
  light: Float64Array,
  information: Float64Array,
  { width, height }: ImageSize,
  empty: number,
): number {
  const byX = new Float64Array(light.length);
  const byY = new Float64Array(light.length);
  differentiate(byX, light, height, width, width, 1, reach / 2);
  differentiate(byY, light, width, height, 1, width, reach / 2);
  const coarse = sumInformation(light, byX, byY, empty);
  const changeOf = (i: number) =>
    coarse[i] > 0 && information[i] < Infinity ? Math.abs(1 - Math.sqrt(information[i] / coarse[i])) : 0;
  return Math.max(changeOf(0), changeOf(5));
}

/** Fisher information of x, y, relative flux and background, 4 * 4. */
function sumInformation(
  light: Float64Array,
  byX: Float64Array,
  byY: Float64Array,
  empty: number,
): Float64Array {
  const out = new Float64Array(16);
  // Change of the expected light by each unknown.
  const change = new Float64Array(4);
  change[3] = 1;
  for (let k = 0; k < light.length; k++) {
    const flux = Math.max(0, light[k]);
    const variance = flux + empty;
    change[0] = byX[k];
    change[1] = byY[k];
    change[2] = flux;
    // A pixel that expects nothing at all and has no noise says nothing; so does one that is not a number.
    if (!(variance > 0) || !Number.isFinite(change[0]) || !Number.isFinite(change[1])) continue;
    for (let i = 0; i < 4; i++) {
      const weighted = change[i] * (1 / variance);
      for (let j = i; j < 4; j++) out[4 * i + j] += weighted * change[j];
    }
  }
  for (let i = 0; i < 4; i++) for (let j = 0; j < i; j++) out[4 * i + j] = out[4 * j + i];
  return out;
}

/** Half the order of the central differences. */
const reach = 8;

/** c_k = (-1)^(k+1) n!^2 / (k (n - k)! (n + k)!): weights of f(+k) - f(-k) in the derivative of order 2 n. */
const differenceWeights = Array.from({ length: reach + 1 }, (_, n) => {
  const c = new Float64Array(n + 1);
  let ratio = 1;
  for (let k = 1; k <= n; k++) {
    ratio *= (n - k + 1) / (n + k);
    c[k] = ((k % 2 === 1 ? 1 : -1) * ratio) / k;
  }
  return c;
});

/**
 * Change of each pixel as the star moves along +, from dI = 2 sqrt(I) d sqrt(I). Near the ends of a line the
 * order of the difference is as high as fits, and one-sided in the last pixel.
 */
function differentiate(
  out: Float64Array,
  light: Float64Array,
  lines: number,
  length: number,
  lineStride: number,
  pixelStride: number,
  mostReach: number,
): void {
  const root = new Float64Array(length);
  for (let line = 0; line < lines; line++) {
    const start = line * lineStride;
    for (let i = 0; i < length; i++) root[i] = Math.sqrt(Math.max(0, light[start + i * pixelStride]));
    for (let i = 0; i < length; i++) {
      const n = Math.min(mostReach, i, length - 1 - i);
      let slope = 0;
      if (n > 0) {
        const c = differenceWeights[n];
        for (let k = 1; k <= n; k++) slope += c[k] * (root[i + k] - root[i - k]);
      } else if (length > 2) {
        slope =
          i === 0
            ? (4 * root[1] - 3 * root[0] - root[2]) / 2
            : (3 * root[i] - 4 * root[i - 1] + root[i - 2]) / 2;
      }
      out[start + i * pixelStride] = -2 * root[i] * slope;
    }
  }
}
