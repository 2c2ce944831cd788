/** The least possible error against every method, on a grid of stars, signal-to-noise ratios and windows. */
import { buildScene, compareEstimators, type EstimatorName } from '@holdfast/sim';
import { expect, test } from 'vitest';
import { smallRig } from './small-rig.ts';

test('no method guides better than the least possible error, on a grid of 200 cells', () => {
  const methods: readonly EstimatorName[] = [
    'centerOfMass',
    'thresholdedCenterOfMass',
    'gaussianFit',
    'pointSymmetryCenter',
    'templateFit',
  ];
  const bright = smallRig({ guideStar: { magnitude: 12 } });
  const clipped = smallRig({ offAxis: { offAxisMm: 0, clipDistance: 0.5 } });
  const stars = [
    [bright, 0],
    [bright, 80],
    [bright, 160],
    [bright, 240],
    [clipped, 160],
  ] as const;
  let cells = 0;
  const below: string[] = [];
  for (const [rig, focusShiftUm] of stars)
    for (const snr of [12, 20, 40, 80])
      for (const windowPx of [15, 23])
        for (const error of compareEstimators(buildScene(rig, { focusShiftUm, snr, windowPx }), {
          estimators: methods,
          seed: 'grid',
          trials: 64,
        })) {
          cells++;
          // What loses its worst frames is measured on a choice of frames, which the bound does not know.
          if (error.boundRatio === undefined || error.lostFraction.value > 0.05) continue;
          const { value, standardError } = error.boundRatio;
          // Of 200 cells one would lie four standard errors below by chance once in 150 times.
          if (value + 4 * standardError < 1)
            below.push(
              `${error.estimator} ${focusShiftUm} µm, SNR ${snr}, window ${windowPx}: ${value} ± ${standardError}`,
            );
        }
  expect(cells).toBe(200);
  expect(below).toEqual([]);
});
