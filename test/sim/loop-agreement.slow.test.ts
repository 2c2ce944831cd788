/** One model of the loop: what the advice reckons from trials, and what frames in a closed loop show. */
import {
  buildScene,
  type EstimatorName,
  measureError,
  perfectMount,
  type Rig,
  type SceneSetting,
  trackStar,
} from '@holdfast/sim';
import { guideErrorOf, loopEffect } from '@holdfast/sim/internal';
import { expect, test } from 'vitest';
import { calm } from '../../packages/sim/src/motion/wind-gusts.ts';
import { expectWithinSigmas } from '../expect-within.ts';
import { smallRig } from './small-rig.ts';

const base = { guideStar: { magnitude: 12 }, filters: [{ name: 'Luminance', focusShiftUm: 240 }] };
const onAxis = smallRig(base);
const telescope = { apertureMm: 150, focalLengthMm: 750, obstructionRatio: 0.3 };
const comet = smallRig({
  ...base,
  telescope: { ...telescope, design: { kind: 'paraboloid' } },
  offAxis: { offAxisMm: 8 },
});
const clipped = smallRig({ ...base, offAxis: { offAxisMm: 0, clipDistance: 0.4 } });

/** A window that a ring of 24 px overfills: the response of a center of mass is 0.5 to 0.6. */
const outgrownPx = 23;

const stars: readonly [string, Rig, SceneSetting][] = [
  ['in focus', onAxis, { focusShiftUm: 0 }],
  ['a ring of 12 px', onAxis, { focusShiftUm: 240 }],
  ['a comet', comet, { focusShiftUm: 0, windowPx: 21 }],
  ['a clipped ring', clipped, { focusShiftUm: 240 }],
  ['a ring that has outgrown its window', onAxis, { focusShiftUm: 480, windowPx: outgrownPx, fluxE: 4000 }],
];
const methods: readonly EstimatorName[] = ['thresholdedCenterOfMass', 'centerOfMass'];

for (const [what, rig, star] of stars)
  for (const estimator of methods) {
    const byTrials = once(() => {
      const scene = buildScene(rig, star);
      const error = measureError(scene, { estimator, seed: 'trials', trials: 1024 });
      return guideErrorOf(error, scene.arcsecPerPx);
    });
    for (const proportionalGain of [0.3, 0.9])
      test(`${what}, ${estimator}, gain ${proportionalGain}: the loop's noise is that of the formula`, async () => {
        const guide = byTrials();
        if (guide === undefined) throw new Error('does not follow');
        const { position, lostFraction } = await trackStar(rig, {
          seed: 'loop',
          runs: 8,
          durationS: 120,
          settleS: 40,
          star,
          estimator,
          mount: perfectMount,
          wind: calm,
          air: null,
          stepS: 2,
          loop: { delayS: 0, proportionalGain },
        });
        expect(lostFraction.value).toBeLessThan(0.01);
        for (const [axis, { value, standardError }] of [
          [guide.x, position.rmsX],
          [guide.y, position.rmsY],
        ] as const) {
          const { noiseFactor = 0 } = loopEffect(rig, { proportionalGain, response: axis.response }) ?? {};
          const expected = noiseFactor * axis.noiseArcsec.value;
          const expectedError = noiseFactor * axis.noiseArcsec.standardError;
          expectWithinSigmas(value, expected, Math.sqrt(standardError ** 2 + expectedError ** 2), 3);
        }
      });
  }

/** Computes on the first call, and gives the same to the next. */
function once<T>(compute: () => T): () => T {
  let done: { readonly value: T } | undefined;
  return () => {
    done ??= { value: compute() };
    return done.value;
  };
}
