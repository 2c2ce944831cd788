import { buildScene, measureError, type PositionError } from '@holdfast/sim';
import { expect, test } from 'vitest';
import { methodDriftArcsec, offsetDriftArcsec } from '../../packages/sim/src/budget/offset-drift.ts';
import { expectWithin, expectWithinSigmas } from '../expect-within.ts';
import { smallRig } from './small-rig.ts';

/** 40 um of focus within one picture of 300 s, behind an edge and off the axis of a paraboloid. */
const cooling = (umPerK: number) =>
  smallRig({
    guideStar: { magnitude: 10 },
    tracking: { windowPx: 41 },
    offAxis: { offAxisMm: 2, telescope: { design: 'paraboloid' }, clipDistance: 0.3 },
    temperature: { umPerK, nightDropK: 8, nightHours: 8 },
    mainCamera: { pixelSizeUm: 4, exposureS: 300 },
  });
const rig = cooling(480);
const setting = { focusShiftUm: 150 };

test.each(['centerOfMass', 'thresholdedCenterOfMass', 'gaussianFit'] as const)(
  'the walk of the place that a method measures is what its frames show: %s',
  (estimator) => {
    const drift = methodDriftArcsec(rig, setting, { estimator });
    const ends = [150, 190].map((focusShiftUm) => {
      const scene = buildScene(rig, { focusShiftUm });
      return { scene, error: measureError(scene, { estimator, seed: 1, trials: 512 }) };
    });
    const walk = (axis: 'x' | 'y', offset: (error: PositionError) => number) => {
      const [begin, end] = ends.map(
        ({ scene, error }) => (scene.lightOffsetPx[axis] + offset(error)) * scene.arcsecPerPx,
      );
      return end - begin;
    };
    const { arcsecPerPx } = ends[0].scene;
    const noise = ends.map(({ error }) => (error.offsetXPx?.standardError ?? 0) * arcsecPerPx);
    const sigma = Math.hypot(noise[0], noise[1]);
    expectWithinSigmas(
      walk('x', (error) => error.offsetXPx?.value ?? 0),
      drift.x,
      sigma,
      4,
    );
    expectWithinSigmas(
      walk('y', (error) => error.offsetYPx?.value ?? 0),
      drift.y,
      sigma,
      4,
    );
    // 8 standard errors: a method that walked with the light alone would be told.
    expect(Math.hypot(drift.x, drift.y)).toBeGreaterThan(8 * sigma);
  },
);

test('methods walk apart, and a center of mass of a wide window walks with the light', () => {
  const light = offsetDriftArcsec(rig);
  const [whole, fitted] = (['centerOfMass', 'gaussianFit'] as const).map((estimator) =>
    methodDriftArcsec(rig, setting, { estimator }),
  );
  expectWithin(
    Math.hypot(whole.x - light.x, whole.y - light.y),
    0,
    1e-4,
    'light beyond the window, none to speak of',
  );
  expect(Math.hypot(fitted.x - light.x, fitted.y - light.y)).toBeGreaterThan(0.02);
});

test('where the walk cannot matter, and for a round pupil, no method is asked', () => {
  const slow = cooling(5);
  expect(methodDriftArcsec(slow, setting, { estimator: 'gaussianFit' })).toBe(offsetDriftArcsec(slow));
  const round = smallRig({ temperature: { umPerK: 480, nightDropK: 8, nightHours: 8 } });
  expect(methodDriftArcsec(round, setting, { estimator: 'gaussianFit' })).toEqual({ x: 0, y: 0 });
});
