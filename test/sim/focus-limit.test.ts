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
  test('the formula comes near it for a center of mass, where first order is exact but for the noise of the sum', async () => {
    const brighter = smallRig({ guideStar: { magnitude: 12 }, tracking: { windowPx: 51 } });
    const { limitUm, formulaLimitUm } = await focusLimit(brighter, {
      seed: 1,
      trials: 2048,
      estimator: 'centerOfMass',
    });
    expectWithin(formulaLimitUm / limitUm.value, 1, 0.1, 'lost frames and the noise of the sum are left out');
  });
  test('behind an edge both sides are searched, and the nearer one is told', async () => {
    const clipped = smallRig({
      guideStar: { magnitude: 13.5 },
      offAxis: { offAxisMm: 3, telescope: { design: 'paraboloid' }, clipDistance: 0.7 },
    });
    const limit = await focusLimit(clipped, { seed: 1, trials: 256 });
    expect(limit.before.limitUm.value).not.toBe(limit.beyond.limitUm.value);
    expect(limit.limitUm.value).toBe(Math.min(limit.before.limitUm.value, limit.beyond.limitUm.value));
  });
  test('the least possible error reaches farther than any estimator', async () => {
    const brighter = smallRig({ guideStar: { magnitude: 12 }, tracking: { windowPx: 51 } });
    for (const estimator of ['centerOfMass', 'thresholdedCenterOfMass', 'gaussianFit'] as const) {
      const { limitUm, leastErrorLimitUm } = await focusLimit(brighter, { seed: 1, trials: 256, estimator });
      expect(limitUm.low).toBeGreaterThan(0);
      expect(limitUm.low).toBeLessThan(leastErrorLimitUm);
    }
  });
  test('a brighter star and a wider budget move it out', async () => {
    const limit = async (changes: Record<string, unknown>) =>
      (await focusLimit(smallRig({ tracking, ...changes }), { seed: 3, trials: 256 })).limitUm;
    const usual = await limit({ guideStar: { magnitude: 13.5 } });
    const brighter = await limit({ guideStar: { magnitude: 12.5 } });
    const wider = await limit({ guideStar: { magnitude: 13.5 }, budget: { fwhmGrowthPercent: 10 } });
    expect(brighter.low).toBeGreaterThan(usual.high);
    expect(wider.low).toBeGreaterThan(usual.high);
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
  test('a star outside the budget even in focus has no limit to give', async () => {
    const hopeless = await focusLimit(faint, { seed: 5, trials: 256, setting: { fluxE: 20 } });
    expect(hopeless.limitedBy).toBe('out-of-budget-in-focus');
    expect(hopeless.limitUm).toEqual({ low: 0, value: 0, high: 0 });
  });
  test('a star that saturates is flagged, and usable all the same', async () => {
    const limit = await focusLimit(faint, { seed: 6, trials: 128, setting: { fluxE: 300_000 } });
    expect(limit.saturatedUm).toBeGreaterThanOrEqual(0);
    expect(limit.limitUm.low).toBeGreaterThan(0);
  });
  test('a ring that outgrows its window ends it, and the window that would do is named', async () => {
    const rig = smallRig({ guideStar: { magnitude: 12 } });
    const small = await focusLimit(rig, { seed: 1, trials: 256 });
    expect(small).toMatchObject({ limitedBy: 'window', windowPx: 21, windowFrom: 'filters' });
    expect(small.windowToHoldPx).toBeGreaterThan(21);
    const wide = smallRig({
      guideStar: { magnitude: 12 },
      tracking: { windowPx: small.windowToHoldPx + 10 },
    });
    const wider = await focusLimit(wide, { seed: 1, trials: 256 });
    expect(wider.windowFrom).toBe('rig');
    expect(wider.limitUm.low).toBeGreaterThan(small.limitUm.high);
  });
  test('it can be canceled', async () => {
    const control = new AbortController();
    const run = focusLimit(faint, {
      seed: 7,
      signal: control.signal,
      onProgress: () => control.abort(new Error('enough')),
    });
    await expect(run).rejects.toThrow('enough');
  });
});
