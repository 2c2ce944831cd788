/**
 * The error of an estimator without a single trial: what it is expected to scatter, and how far it follows
 * the star.
 */

import { predictError } from '@holdfast/centroid';
import { createImage } from '@holdfast/psf';
import { borderBackground } from './border-background.ts';
import { leastResponse } from './error-tally.ts';
import { cutWindow, type EstimatorSetting, prepareEstimator, type Start, settingOf } from './estimators.ts';
import { prepareKeptScene } from './kept-star.ts';
import type { AnyEstimator } from './own-estimator.ts';
import type { Scene } from './scene.ts';

/**
 * Places of the star in its pixel, a lattice whose columns and rows are even. Of a blurred star the first two
 * will do.
 */
const places = [
  [0.125, 0.375],
  [0.625, 0.875],
  [0.375, 0.125],
  [0.875, 0.625],
] as const;
const blurredFwhmPx = 2;

/**
 * From the last position to the star along each axis, both ways, to tell how far a method follows, px. The
 * window stands on whole pixels: between the two it moves by just one of them.
 */
const stepPx = 0.5;

/** Where the star is measured on average, px of the stamp, and the scatter about it. */
interface Expected {
  readonly x: number;
  readonly y: number;
  readonly sigmaX: number;
  readonly sigmaY: number;
}

/** What to expect of the star's noiseless light at a place, measured from where the loop last had it. */
type Expect = (light: Float64Array, at: Start, start: Start) => Expected | undefined;

/**
 * Noise-equivalent error per axis, px: the expected scatter over the expected response, root mean square over
 * places in the pixel. Milliseconds instead of seconds. A center of mass, plain or thresholded:
 * \`predictError\`, within 10 % wherever at least 90 % of the frames give a position. All others: the error
 * that the estimator states on the noiseless frame, good to a few per cent while the star stands well out of
 * the noise, and blind to lost frames and outliers.
 *
 * @returns undefined where there is no prediction: most often the star is too faint; or the method does not
 *   follow it
 */
export function analyticErrorPx(
  scene: Scene,
  estimator: AnyEstimator | EstimatorSetting<AnyEstimator>,
): number | undefined {
  const draw = prepareKeptScene(scene);
  const expect = prepareExpect(scene, settingOf(estimator));
  const light = new Float64Array(scene.width * scene.height);
  let sum = 0;
  let responseX = 0;
  let responseY = 0;
  const used = scene.blurFwhmPx >= blurredFwhmPx ? places.slice(0, 2) : places;
  for (const [column, row] of used) {
    const at = { x: scene.column - 0.5 + column, y: scene.row - 0.5 + row };
    draw(light, at.x, at.y, scene.fluxE);
    const one = expect(light, at, { x: at.x - stepPx, y: at.y - stepPx });
    const other = expect(light, at, { x: at.x + stepPx, y: at.y + stepPx });
    if (one === undefined || other === undefined) return undefined;
    sum += (one.sigmaX ** 2 + one.sigmaY ** 2 + other.sigmaX ** 2 + other.sigmaY ** 2) / 4;
    responseX += 1 + (one.x - other.x) / (2 * stepPx);
    responseY += 1 + (one.y - other.y) / (2 * stepPx);
  }
  const response = Math.min(responseX, responseY) / used.length;
  return response >= leastResponse ? Math.sqrt(sum / used.length) / response : undefined;
}

/**
 * Where a method has the star on average, px from where a perfect one would stand: the center of its light,
 * and the method's offset from that. Undefined where there is no prediction.
 */
export function expectedOffsetPx(
  scene: Scene,
  estimator: EstimatorSetting<AnyEstimator>,
): { readonly x: number; readonly y: number } | undefined {
  const draw = prepareKeptScene(scene);
  const expect = prepareExpect(scene, estimator);
  const light = new Float64Array(scene.width * scene.height);
  let { x, y } = scene.lightOffsetPx;
  for (const [column, row] of places) {
    const at = { x: scene.column - 0.5 + column, y: scene.row - 0.5 + row };
    draw(light, at.x, at.y, scene.fluxE);
    const found = expect(light, at, at);
    if (found === undefined) return undefined;
    x += (found.x - at.x) / places.length;
    y += (found.y - at.y) / places.length;
  }
  return { x, y };
}

function prepareExpect(scene: Scene, setting: EstimatorSetting<AnyEstimator>): Expect {
  const { backgroundE, pixelNoiseE } = scene;
  const backgroundSigma = borderBackground(scene).levelSigma;
  const { estimator } = setting;
  if (estimator === 'centerOfMass' || estimator === 'thresholdedCenterOfMass') {
    const side = setting.windowPx ?? scene.windowPx;
    const window = createImage(side, side);
    const options = {
      noise: { readNoiseE: pixelNoiseE, backgroundE },
      backgroundSigma,
      ...(estimator === 'centerOfMass'
        ? { estimator }
        : {
            estimator,
            thresholdSigma: setting.thresholdSigma ?? scene.thresholdSigma,
            ...(setting.thresholdForm ? { form: setting.thresholdForm } : {}),
          }),
    };
    return (light, at, start) => {
      const { left, top } = cutWindow(window.data, light, scene, side, start);
      const predicted = predictError(window, { ...options, at: { x: at.x - left, y: at.y - top } });
      if (!predicted.ok) return undefined;
      const { biasX, biasY, sigmaX, sigmaY } = predicted;
      return { x: at.x + biasX, y: at.y + biasY, sigmaX, sigmaY };
    };
  }
  const measure = prepareEstimator(setting, scene, backgroundSigma);
  const frame = new Float64Array(scene.width * scene.height);
  return (light, _, start) => {
    for (let k = 0; k < frame.length; k++) frame[k] = light[k] + backgroundE;
    const found = measure(frame, backgroundE, start);
    if (!found.ok || found.sigmaX === undefined || found.sigmaY === undefined) return undefined;
    return { x: found.x, y: found.y, sigmaX: found.sigmaX, sigmaY: found.sigmaY };
  };
}
