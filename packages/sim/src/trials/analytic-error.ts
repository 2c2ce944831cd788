/** The error of an estimator without a single trial: what it predicts, and how far it is off, on the expected frame. */

import type { EstimatorName } from '../rig/rig-schema.ts';
import { borderBackground } from './border-background.ts';
import { leastResponse } from './error-tally.ts';
import { type EstimatorSetting, prepareEstimator } from './estimators.ts';
import { prepareScene, type Scene } from './scene.ts';

/** Places in the pixel along each axis at which the star is tried. */
const places = 3;

/** From the last position to the star along each axis, both ways, to tell how far a method follows, px. */
const stepPx = 0.25;

/**
 * First-order noise-equivalent error per axis, px: the error that the estimator predicts from the noise model on the noiseless
 * expected frame, over its response there, root mean square over places in the pixel. Milliseconds instead of seconds; good to a
 * few per cent while the star is well above its threshold, and blind to lost frames and outliers.
 *
 * @returns undefined where the estimator finds no star even in the noiseless frame, or does not follow it
 */
export function analyticErrorPx(
  scene: Scene,
  estimator: EstimatorName | EstimatorSetting,
): number | undefined {
  const plan = prepareScene(scene);
  const measure = prepareEstimator(estimator, scene, borderBackground(scene).levelSigma);
  const frame = new Float64Array(scene.width * scene.height);
  let sum = 0;
  let responseX = 0;
  let responseY = 0;
  for (let i = 0; i < places; i++)
    for (let j = 0; j < places; j++) {
      const x = scene.column - 0.5 + (j + 0.5) / places;
      const y = scene.row - 0.5 + (i + 0.5) / places;
      plan.renderInto(frame, x, y, scene.fluxE);
      for (let k = 0; k < frame.length; k++) frame[k] += scene.backgroundE;
      const found = measure(frame, scene.backgroundE, { x: x - stepPx, y: y - stepPx });
      const other = measure(frame, scene.backgroundE, { x: x + stepPx, y: y + stepPx });
      if (!found.ok || !other.ok || found.sigmaX === undefined || found.sigmaY === undefined)
        return undefined;
      sum += (found.sigmaX ** 2 + found.sigmaY ** 2) / 2;
      responseX += 1 + (found.x - other.x) / (2 * stepPx);
      responseY += 1 + (found.y - other.y) / (2 * stepPx);
    }
  const all = places * places;
  const response = Math.min(responseX, responseY) / all;
  return response >= leastResponse ? Math.sqrt(sum / all) / response : undefined;
}
