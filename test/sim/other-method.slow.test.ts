import { resultOf } from '@holdfast/sim/internal';
import { expect, test } from 'vitest';
import { otherMethod as otherInSteps } from '../../packages/sim/src/advice/other-method.ts';
import { smallRig } from './small-rig.ts';

const otherMethod = (...args: Parameters<typeof otherInSteps>) => resultOf(otherInSteps(...args));
const star = { focusShiftUm: 240 };
const trials = { seed: 1, trials: 256 };
const offered = ['centerOfMass', 'pointSymmetryCenter', 'gaussianFit', 'weightedCenterOfMass'];
const rigOf = (magnitude: number, available: readonly string[]) =>
  smallRig({ guideStar: { magnitude }, tracking: { estimator: 'centerOfMass', available, windowPx: 31 } });

test('a method that the rig does not offer is named where it keeps the star within the budget', () => {
  const rig = rigOf(13, [...offered, 'thresholdedCenterOfMass']);
  const found = otherMethod(rig, star, trials);
  expect(rig.tracking.available).not.toContain(found?.estimator);
  expect(found?.assessment.verdict).toBe('within');
  // The template is the mean of the frames before: nobody has the exact star.
  expect(found?.assessment.error).toMatchObject({ templateFrames: rig.tracking.templateFrames });
  expect(found?.text).toContain('tracking.available does not name it');
});

test('none is named that the rig offers, nor any for a star that no method can measure', () => {
  const templates = ['crossCorrelation', 'templateFit'];
  const found = otherMethod(rigOf(13, [...offered, ...templates]), star, trials);
  expect(found?.estimator).toBe('thresholdedCenterOfMass');
  const all = [...offered, ...templates, 'thresholdedCenterOfMass'];
  expect(otherMethod(rigOf(13, all), star, trials)).toBeUndefined();
  expect(otherMethod(rigOf(17, ['centerOfMass']), star, trials)).toBeUndefined();
});
