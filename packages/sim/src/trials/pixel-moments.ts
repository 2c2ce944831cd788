/** A pixel over many frames, as it is and as a threshold leaves it: means, variances, covariance. */
import { largestTabulatedMean, pixelTables } from '@holdfast/psf/internal';
import { monotoneCubic } from '@holdfast/psf/numerics';
import type { EstimatorSetting } from './estimators.ts';
import type { Scene } from './scene.ts';

/** A pixel's weight above a threshold: v - level + kept where v, its electrons, exceeds the level; else 0. */
export interface Threshold {
  readonly level: number;
  readonly kept: number;
}

/** Moments of each pixel of a stamp. */
export interface PixelMoments {
  readonly variance: Float64Array;
  /** Of the weight above the threshold. */
  readonly weightMean: Float64Array;
  readonly weightVariance: Float64Array;
  /** Of the pixel with its weight. */
  readonly covariance: Float64Array;
}

/** Beyond so many sigmas above the threshold nothing is cut off. */
const surelyAbove = 8;

/** Means at which the moments are computed, even in their square root; between them runs a smooth curve. */
const steps = 64;
const fineSteps = 2048;

/**
 * Moments of pixels by the light that they expect of the star, electrons, from the distribution of what the
 * camera reports: photons, read noise and rounding together.
 *
 * @returns `threshold` is undefined under a sky too bright for the camera's tables
 */
export function preparePixelMoments(
  { backgroundE, pixelNoiseE, camera, ...scene }: Scene,
  setting: Pick<EstimatorSetting<unknown>, 'thresholdSigma' | 'thresholdForm'>,
): { readonly threshold: Threshold | undefined; momentsOf(light: Float64Array): PixelMoments } {
  const { readNoiseE, gainEPerAdu } = camera;
  const empty = backgroundE + pixelNoiseE * pixelNoiseE;
  const limit = (setting.thresholdSigma ?? scene.thresholdSigma) * Math.sqrt(empty);
  const kept = setting.thresholdForm === 'keep' ? limit : 0;
  const level = backgroundE + limit;
  // The mean at which a pixel is surely above: m - limit = 8 sqrt(m + variance).
  const half = surelyAbove / 2;
  const sure = limit + 2 * half * (half + Math.sqrt(half * half + limit + empty));
  const isKnown = backgroundE + sure < largestTabulatedMean && readNoiseE > 0;
  const low = Math.sqrt(backgroundE);
  const high = Math.sqrt(backgroundE + sure);
  const perRoot = fineSteps / (high - low);
  const [means, variances, products] = isKnown
    ? keptCurves({ readNoiseE, gainEPerAdu, level, kept, low, high })
    : [];

  return {
    threshold: isKnown ? { level, kept } : undefined,
    momentsOf(light) {
      const variance = light.map((value) => value + empty);
      const [weightMean, weightVariance, covariance] = [0, 1, 2].map(() => new Float64Array(light.length));
      if (isKnown)
        for (let k = 0; k < light.length; k++) {
          if (light[k] >= sure) {
            weightMean[k] = light[k] - limit + kept;
            weightVariance[k] = variance[k];
            covariance[k] = variance[k];
            continue;
          }
          const at = Math.max(0, (Math.sqrt(light[k] + backgroundE) - low) * perRoot);
          const i = Math.floor(at);
          const t = at - i;
          weightMean[k] = means[i] + t * (means[i + 1] - means[i]);
          weightVariance[k] = variances[i] + t * (variances[i + 1] - variances[i]);
          covariance[k] = products[i] + t * (products[i + 1] - products[i]);
        }
      return { variance, weightMean, weightVariance, covariance };
    },
  };
}

/** A camera, a threshold, and the roots of the means between which moments are wanted. */
interface CurveSetting extends Threshold {
  readonly readNoiseE: number;
  readonly gainEPerAdu: number;
  readonly low: number;
  readonly high: number;
}

/** Those used last: all stars of a night share them. */
const curves = new Map<string, Float64Array[]>();
const mostCurves = 8;

function keptCurves(setting: CurveSetting): Float64Array[] {
  const key = Object.values(setting).join();
  let found = curves.get(key);
  if (found === undefined) {
    if (curves.size >= mostCurves) curves.clear();
    found = tabulate(setting);
    curves.set(key, found);
  }
  return found;
}

/** Mean and variance of the weight, covariance with the pixel, on a fine grid of the root of the mean. */
function tabulate({ readNoiseE, gainEPerAdu, level, kept, low, high }: CurveSetting): Float64Array[] {
  const tables = pixelTables(readNoiseE, gainEPerAdu);
  const roots = Float64Array.from({ length: steps + 1 }, (_, i) => low + ((high - low) * i) / steps);
  const coarse = [0, 1, 2].map(() => new Float64Array(steps + 1));
  roots.forEach((root, i) => {
    const { first, probability } = tables.distributionOf(root * root);
    let [mean, squares, products, pixel] = [0, 0, 0, 0];
    for (let n = 0; n < probability.length; n++) {
      const value = (first + n) * gainEPerAdu;
      const weight = value > level ? value - level + kept : 0;
      pixel += probability[n] * value;
      mean += probability[n] * weight;
      squares += probability[n] * weight * weight;
      products += probability[n] * weight * value;
    }
    coarse[0][i] = mean;
    coarse[1][i] = squares - mean * mean;
    coarse[2][i] = products - mean * pixel;
  });
  return coarse.map((values) => {
    const curve = monotoneCubic(roots, values);
    return Float64Array.from({ length: fineSteps + 2 }, (_, i) =>
      curve(low + (i * (high - low)) / fineSteps),
    );
  });
}
