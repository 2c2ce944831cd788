import { focusLimit } from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { smallRig } from './small-rig.ts';

const tracking = { windowPx: 71 };
const faint = smallRig({ guideStar: { magnitude: 13.5 }, tracking });

describe('the focus limit', () => {
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
  test('a brighter star and a wider budget move it out', async () => {
    const limit = async (changes: Record<string, unknown>) =>
      (await focusLimit(smallRig({ tracking, ...changes }), { seed: 3, trials: 256 })).limitUm;
    const usual = await limit({ guideStar: { magnitude: 13.5 } });
    const brighter = await limit({ guideStar: { magnitude: 12.5 } });
    const wider = await limit({ guideStar: { magnitude: 13.5 }, budget: { fwhmGrowthPercent: 10 } });
    expect(brighter.low).toBeGreaterThan(usual.high);
    expect(wider.low).toBeGreaterThan(usual.high);
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
