/**
 * Sums over the noise of a frame that a position's error follows, and what is known of them without a trial:
 * their mean is 0, and their covariance is that of the pixels.
 */
import { exp } from '@holdfast/psf/numerics';
import type { EstimatorSetting } from './estimators.ts';
import { prepareKeptScene } from './kept-star.ts';
import { type Along, covarianceOfSums, linearSums, noThreshold, type Stamp, sumNoise } from './noise-sums.ts';
import { preparePixelMoments } from './pixel-moments.ts';
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

/** Nothing is known of larger stamps: what is kept of one takes up to 1 kB per pixel. */
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
  const count = threshold === undefined ? linearSums : linearSums + 1;
  const draw = prepareKeptScene(scene);
  const sigma = sigmasPerFwhm * Math.sqrt(scene.blurFwhmPx ** 2 + scene.outerDiameterPx ** 2);
  // All weights but the distance are 0 beyond the star: its core is all that they are summed over.
  const reach = Math.min(Math.ceil(scene.radiusPx) + 2, column - 2, row - 2);
  const coreSide = 2 * reach + 1;
  const [coreLeft, coreTop] = [column - reach, row - reach];
  const common = { count, side, width, coreLeft, coreTop, coreSide, ...(threshold ?? noThreshold) };
  /** A pixel of the core in the stamp. */
  const pixelOf = (c: number): number =>
    (coreTop + Math.floor(c / coreSide)) * width + coreLeft + (c % coreSide);
  const prepareStamp = (place: number): Stamp => {
    const at = placeOf(place);
    const light = new Float64Array(width * height);
    const [centerX, centerY] = [column - 0.5 + at.x, row - 0.5 + at.y];
    draw(light, centerX, centerY, fluxE);
    const moments = momentsOf(light);
    const inverse = new Float64Array(coreSide * coreSide);
    const along = (center: number, length: number, step: number): Along => {
      const from = Float64Array.from({ length }, (_, i) => i - center);
      const bell = from.map((distance) => exp((-0.5 * distance * distance) / (sigma * sigma)));
      const slope = inverse.map((_, c) => change(light, pixelOf(c), step));
      return { from, bell, slope };
    };
    for (let c = 0; c < inverse.length; c++) inverse[c] = 1 / moments.variance[pixelOf(c)];
    const [x, y] = [along(centerX, width, 1), along(centerY, height, width)];
    for (let k = 0; k < light.length; k++) light[k] += backgroundE;
    return { ...common, ...moments, mean: light, x, y, inverse };
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
  return {
    count,
    sumsOf(pixels, trial, left, top) {
      const key = (trial * height + top) * width + left;
      if (key === summed && pixels === summedOf) return sums;
      summed = key;
      summedOf = pixels;
      sumNoise(sums, pixels, stampOf(trial % places), left, top);
      return sums;
    },
    covarianceOf(place, left, top) {
      const key = (place * height + top) * width + left;
      let known = covariances.get(key);
      if (known === undefined) {
        known = covarianceOfSums(stampOf(place), left, top);
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
