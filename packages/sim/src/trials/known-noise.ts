/**
 * Sums over the noise of a frame that a position's error follows, and what is known of them without a trial:
 * their mean is 0, and their covariance is that of the pixels.
 */
import { exp } from '@holdfast/psf/numerics';
import type { EstimatorSetting } from './estimators.ts';
import { prepareKeptScene } from './kept-star.ts';
import { type PixelMoments, preparePixelMoments } from './pixel-moments.ts';
import type { Scene } from './scene.ts';
import { placeOf, places } from './simulated-frames.ts';

/** The sums of a scene's frames, in windows of one side. `left`, `top`: first pixel of the window. */
export interface KnownNoise {
  /** Sums along each axis. */
  readonly count: number;
  /** Those along x of a trial's frame, then those along y. Overwritten by the next. */
  sumsOf(pixels: Float64Array, trial: number, left: number, top: number): Float64Array;
  /** Their covariance over frames of this place: count * count along x, then as many along y. */
  covarianceOf(place: number, left: number, top: number): Float64Array;
}

/** What each pixel of the stamp weighs in the sums that are linear in its noise. */
const linear = 4;

interface Stamp extends PixelMoments {
  readonly mean: Float64Array;
  /** `linear` weights along x, then as many along y, pixel by pixel. */
  readonly weights: Float64Array;
}

/** Nothing is known of larger stamps: what is kept of one takes 1.8 kB per pixel. */
const mostPixels = 2 ** 15;

/** A pixel so many sigmas from an end of the camera's output is not cut there. */
const clearSigmas = 6;

const sigmasPerFwhm = 1 / (2 * Math.sqrt(2 * Math.LN2));

/**
 * The influence of a pixel's noise on a position, to first order, for the kinds of estimators that there are;
 * x is the distance from the star, L its light:
 *
 *   center of mass                  x
 *   fit of the star's own shape     dL/dx / variance; without weights dL/dx
 *   Gaussian weight, Gaussian fit   x exp(-r^2 / 2 s^2)
 *   above a threshold               x, times what the threshold leaves of the noise
 *
 * What an estimator makes of them the trials tell, so yours and ours are treated alike.
 *
 * @returns undefined for a star whose brightest or darkest pixels the camera cuts, since their noise is not
 *   known, and for a stamp of more than 2^15 px
 */
export function prepareKnownNoise(
  scene: Scene,
  setting: Omit<EstimatorSetting<unknown>, 'estimator'>,
): KnownNoise | undefined {
  if (isCut(scene) || scene.width * scene.height > mostPixels) return undefined;
  if (last?.scene !== scene) last = { scene, known: new Map() };
  const { windowPx, thresholdSigma, thresholdForm } = setting;
  const key = JSON.stringify([windowPx, thresholdSigma, thresholdForm]);
  const noise = last.known.get(key) ?? prepare(scene, setting);
  last.known.set(key, noise);
  return noise;
}

/** What was made ready for the scene that came last: estimators and seeds share it. */
let last: { readonly scene: Scene; readonly known: Map<string, KnownNoise> } | undefined;

function prepare(scene: Scene, setting: Omit<EstimatorSetting<unknown>, 'estimator'>): KnownNoise {
  const { width, height, column, row, backgroundE, fluxE } = scene;
  const side = setting.windowPx ?? scene.windowPx;
  const { threshold, momentsOf } = preparePixelMoments(scene, setting);
  const count = threshold === undefined ? linear : linear + 1;
  const { level, kept } = threshold ?? { level: Infinity, kept: 0 };
  const draw = prepareKeptScene(scene);
  const sigma = sigmasPerFwhm * Math.sqrt(scene.blurFwhmPx ** 2 + scene.outerDiameterPx ** 2);

  const prepareStamp = (place: number): Stamp => {
    const at = placeOf(place);
    const centerX = column - 0.5 + at.x;
    const centerY = row - 0.5 + at.y;
    const light = new Float64Array(width * height);
    draw(light, centerX, centerY, fluxE);
    const moments = momentsOf(light);
    const weights = new Float64Array(2 * linear * light.length);
    const bellOf = (center: number, length: number) =>
      Float64Array.from({ length }, (_, i) => exp((-0.5 * (i - center) * (i - center)) / (sigma * sigma)));
    const columns = bellOf(centerX, width);
    const rows = bellOf(centerY, height);
    for (let y = 0, k = 0; y < height; y++)
      for (let x = 0; x < width; x++, k++) {
        // Differences of order 4; on the stamp's border is no light.
        const inside = x > 1 && y > 1 && x < width - 2 && y < height - 2;
        const slopeX = inside ? change(light, k, 1) : 0;
        const slopeY = inside ? change(light, k, width) : 0;
        const bell = columns[x] * rows[y];
        const from = 2 * linear * k;
        weights[from] = x - centerX;
        weights[from + 1] = slopeX / moments.variance[k];
        weights[from + 2] = slopeX;
        weights[from + 3] = (x - centerX) * bell;
        weights[from + 4] = y - centerY;
        weights[from + 5] = slopeY / moments.variance[k];
        weights[from + 6] = slopeY;
        weights[from + 7] = (y - centerY) * bell;
      }
    for (let k = 0; k < light.length; k++) light[k] += backgroundE;
    return { ...moments, mean: light, weights };
  };
  const stamps: Stamp[] = [];
  const stampOf = (place: number): Stamp => {
    stamps[place] ??= prepareStamp(place);
    return stamps[place];
  };

  // Estimators that are compared ask for the same.
  const sums = new Float64Array(2 * count);
  let summed = -1;
  let summedOf: Float64Array | undefined;
  const covariances = new Map<number, Float64Array>();
  const makeCovariance = (place: number, left: number, top: number): Float64Array => {
    const { weights, variance, weightVariance, covariance } = stampOf(place);
    const out = new Float64Array(2 * count * count);
    for (let axis = 0; axis < 2; axis++) {
      let [c00, c10, c11, c20, c21, c22, c30, c31, c32, c33] = [0, 0, 0, 0, 0, 0, 0, 0, 0, 0];
      let [c40, c41, c42, c43, c44] = [0, 0, 0, 0, 0];
      // One pass over the pixels: each weight is fetched once for all products.
      for (let y = top; y < top + side; y++)
        for (let k = y * width + left, end = k + side, w = linear * (2 * k + axis); k < end; k++) {
          const w0 = weights[w];
          const w1 = weights[w + 1];
          const w2 = weights[w + 2];
          const w3 = weights[w + 3];
          const noise = variance[k];
          // The last sum, above the threshold, weighs by the distance as the first does.
          const shared = covariance[k];
          c00 += w0 * w0 * noise;
          c10 += w1 * w0 * noise;
          c11 += w1 * w1 * noise;
          c20 += w2 * w0 * noise;
          c21 += w2 * w1 * noise;
          c22 += w2 * w2 * noise;
          c30 += w3 * w0 * noise;
          c31 += w3 * w1 * noise;
          c32 += w3 * w2 * noise;
          c33 += w3 * w3 * noise;
          c40 += w0 * w0 * shared;
          c41 += w0 * w1 * shared;
          c42 += w0 * w2 * shared;
          c43 += w0 * w3 * shared;
          c44 += w0 * w0 * weightVariance[k];
          w += 2 * linear;
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
  };

  return {
    count,
    sumsOf(pixels, trial, left, top) {
      const key = (trial * height + top) * width + left;
      if (key === summed && pixels === summedOf) return sums;
      summed = key;
      summedOf = pixels;
      const { weights, mean, weightMean } = stampOf(trial % places);
      let [x0, x1, x2, x3, x4] = [0, 0, 0, 0, 0];
      let [y0, y1, y2, y3, y4] = [0, 0, 0, 0, 0];
      for (let y = top; y < top + side; y++)
        for (let k = y * width + left, end = k + side, w = 2 * linear * k; k < end; k++, w += 2 * linear) {
          const noise = pixels[k] - mean[k];
          const above = (pixels[k] > level ? pixels[k] - level + kept : 0) - weightMean[k];
          x0 += weights[w] * noise;
          x1 += weights[w + 1] * noise;
          x2 += weights[w + 2] * noise;
          x3 += weights[w + 3] * noise;
          x4 += weights[w] * above;
          y0 += weights[w + 4] * noise;
          y1 += weights[w + 5] * noise;
          y2 += weights[w + 6] * noise;
          y3 += weights[w + 7] * noise;
          y4 += weights[w + 4] * above;
        }
      sums.set([x0, x1, x2, x3]);
      sums.set([y0, y1, y2, y3], count);
      if (count > linear) {
        sums[linear] = x4;
        sums[count + linear] = y4;
      }
      return sums;
    },
    covarianceOf(place, left, top) {
      const key = (place * height + top) * width + left;
      let known = covariances.get(key);
      if (known === undefined) {
        known = makeCovariance(place, left, top);
        covariances.set(key, known);
      }
      return known;
    },
  };
}

const change = (light: Float64Array, k: number, step: number): number =>
  8 * (light[k + step] - light[k - step]) - light[k + 2 * step] + light[k - 2 * step];

function isCut({ camera, backgroundE, pixelNoiseE, peakE, saturationE }: Scene): boolean {
  const sigma = (mean: number): number => Math.sqrt(mean + pixelNoiseE * pixelNoiseE);
  return (
    camera.offsetAdu * camera.gainEPerAdu + backgroundE < clearSigmas * sigma(backgroundE) ||
    peakE + clearSigmas * sigma(peakE) >= saturationE
  );
}
