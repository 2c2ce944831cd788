import { randomStream } from '@holdfast/psf';
import { imageGrowth, loopNoiseFactor, rmsWithinBudgetArcsec } from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
import { expectWithin, expectWithinSigmas } from '../expect-within.ts';
import { smallRig } from './small-rig.ts';

describe('noise that a proportional loop lets through', () => {
  // Textbook control theory: output variance over input variance of a first-order loop is g / (2 - g).
  test.each([0.2, 0.6, 1, 1.5])('gain %d: a simulated loop has the variance g / (2 - g)', (gain) => {
    const random = randomStream('loop', gain);
    const blocks = 400;
    const means: number[] = [];
    let position = 0;
    for (let block = 0; block < blocks; block++) {
      let sum = 0;
      for (let i = 0; i < 250; i++) {
        position -= gain * (position + random.normal());
        sum += position * position;
      }
      means.push(sum / 250);
    }
    const mean = means.reduce((a, b) => a + b) / blocks;
    const spread = Math.sqrt(means.reduce((a, b) => a + (b - mean) ** 2, 0) / (blocks - 1) / blocks);
    expectWithinSigmas(mean, loopNoiseFactor(gain) ** 2, spread, 4);
  });
  test.each([0, 2, -1, Number.NaN])('gain %d is refused', (gain) => {
    expect(() => loopNoiseFactor(gain)).toThrow(/proportionalGain must be in \(0, 2\)/);
  });
});

describe('growth of the stars in the picture', () => {
  const rig = smallRig();
  test('blurs add in quadrature, worked by hand', () => {
    // seeing 2.5; other tracking 0.5 * 2.35482 = 1.17741; pixel 1.10008 * 2.35482 / sqrt(12) = 0.74780
    const { fwhmPerfectArcsec, fwhmArcsec, growthPercent } = imageGrowth(rig, {
      value: 1,
      standardError: 0.1,
    });
    expectWithin(fwhmPerfectArcsec, 2.86278, 2e-5, 'five digits by hand');
    // guide star 1 * 2.35482 * sqrt(0.6 / 1.4) = 1.54158
    expectWithin(fwhmArcsec.value, Math.sqrt(2.86278 ** 2 + 1.54158 ** 2), 5e-5, 'five digits by hand');
    expectWithin(
      growthPercent.value,
      100 * (Math.sqrt(2.86278 ** 2 + 1.54158 ** 2) / 2.86278 - 1),
      2e-3,
      'the same',
    );
  });
  test('its standard error is the slope times that of the rms', () => {
    const at = (value: number) => imageGrowth(rig, { value, standardError: 0.01 }).growthPercent;
    const slope = (at(1.001).value - at(0.999).value) / 0.002;
    expectWithin(at(1).standardError, 0.01 * slope, 1e-5, 'central difference');
  });
  test('the error that the budget allows is the inverse of the growth', () => {
    const value = rmsWithinBudgetArcsec(rig);
    expectWithin(imageGrowth(rig, { value, standardError: 0 }).growthPercent.value, 5, 1e-9, 'rounding');
  });
  test('no error, no growth; the seeing is the largest term of a usual rig', () => {
    const none = imageGrowth(rig, { value: 0, standardError: 0 });
    expect(none.growthPercent.value).toBe(0);
    expect(none.largestTerm).toBe('seeing');
    expect(imageGrowth(rig, { value: 5, standardError: 0 }).largestTerm).toBe('guide star');
  });
});
