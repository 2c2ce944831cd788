/** What many trials tell of the focus limit. */
import { focusLimit } from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { smallRig } from './small-rig.ts';

const tracking = { windowPx: 71 };
const faint = smallRig({ guideStar: { magnitude: 13.5 }, tracking });

describe('the focus limit', () => {
  test('is within its own error of the limit that many more trials find', async () => {
    const few = await focusLimit(faint, { seed: 1, trials: 512 });
    const many = await focusLimit(faint, { seed: 2, trials: 4096 });
    expect(few.limitedBy).toBe('fwhm-growth');
    const width = ({ low, high }: { low: number; high: number }) => high - low;
    // One seed in twenty lies beyond its 95 % interval: three standard errors of both are asked for.
    const both = Math.hypot(width(few.limitUm), width(many.limitUm)) / (2 * 1.96);
    expectWithin(few.limitUm.value, many.limitUm.value, 3 * both, 'three standard errors of both');
    expect(width(many.limitUm)).toBeLessThan(width(few.limitUm));
    expect(width(few.limitUm)).toBeLessThan(0.25 * few.limitUm.value);
    expectWithin(
      few.ringDiameterPx.value,
      few.limitUm.value / 5 / 4,
      1e-9,
      'ring = shift / F over 4 µm pixels',
    );
  });
  test('its interval is as wide as chance makes it: 2.3 standard deviations of runs to either side', async () => {
    // Student's 2.36 times what 8 batches give on average; by 8 runs a deviation is known to 27 %.
    const near = smallRig({ guideStar: { magnitude: 13.5 }, tracking: { windowPx: 41 } });
    const limits: { value: number; low: number; high: number }[] = [];
    for (let seed = 0; seed < 8; seed++) limits.push((await focusLimit(near, { seed, trials: 256 })).limitUm);
    const mean = limits.reduce((sum, { value }) => sum + value / 8, 0);
    const deviation = Math.sqrt(limits.reduce((sum, { value }) => sum + (value - mean) ** 2 / 7, 0));
    const half = limits.reduce((sum, { low, high }) => sum + (high - low) / 16, 0);
    expect(half / deviation).toBeGreaterThan(1.2);
    expect(half / deviation).toBeLessThan(5);
  });
  test('the least possible error reaches farther than any estimator', async () => {
    const brighter = smallRig({ guideStar: { magnitude: 12 }, tracking: { windowPx: 51 } });
    for (const estimator of ['centerOfMass', 'thresholdedCenterOfMass', 'gaussianFit'] as const) {
      const { limitUm, leastErrorLimitUm } = await focusLimit(brighter, { seed: 1, trials: 256, estimator });
      expect(limitUm.low).toBeGreaterThan(0);
      expect(limitUm.low).toBeLessThan(leastErrorLimitUm);
    }
  });
  test('the share of lost frames can set it', async () => {
    // The window holds every ring: else a method that does not follow the star is the window's fault.
    const strict = smallRig({
      tracking: { windowPx: 101 },
      guideStar: { magnitude: 13.5 },
      budget: { fwhmGrowthPercent: 900, lostFractionPercent: 5 },
    });
    expect((await focusLimit(strict, { seed: 4, trials: 256, estimator: 'centerOfMass' })).limitedBy).toBe(
      'lost-fraction',
    );
  });
});
