/** The error of an estimator without a single trial: what it predicts, and how far it is off, on the expected frame. */

import type { EstimatorName } from '../rig/rig-schema.ts';
import { borderBackground } from './border-background.ts';
import { type EstimatorSetting, prepareEstimator } from './estimators.ts';
import { prepareScene, type Scene } from './scene.ts';

/** Places in the pixel along each axis at which the star is tried. */
const places = 3;

/**
 * First-order rms error per axis, px: the error that the estimator predicts from the noise model on the noiseless expected
 * frame, and its bias there, in quadrature, over places in the pixel. Milliseconds instead of seconds; good to a few per
 * cent while the star is well above its threshold, and blind to lost frames and outliers.
 *
 * @returns undefined where the estimator finds no star even in the noiseless frame
 */
export function analyticErrorPx(
  scene: Scene,
  estimator: EstimatorName | EstimatorSetting,
): number | undefined {
  const plan = prepareScene(scene);
  const measure = prepareEstimator(estimator, scene, borderBackground(scene).levelSigma);
  const frame = new Float64Array(scene.width * scene.height);
  let sum = 0;
  for (let i = 0; i < places; i++)
    for (let j = 0; j < places; j++) {
      const x = scene.column - 0.5 + (j + 0.5) / places;
      const y = scene.row - 0.5 + (i + 0.5) / places;
      plan.renderInto(frame, x, y, scene.fluxE);
      for (let k = 0; k < frame.length; k++) frame[k] += scene.backgroundE;
      const found = measure(frame, scene.backgroundE);
      if (!found.ok || found.sigmaX === undefined || found.sigmaY === undefined) return undefined;
      sum += (found.sigmaX ** 2 + found.sigmaY ** 2 + (found.x - x) ** 2 + (found.y - y) ** 2) / 2;
    }
  return Math.sqrt(sum / (places * places));
}
