import { buildScene, focusLimit, type Progress } from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import disc from './own/star.ts';
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
  test('a star of a user’s own that grows twice as fast ahead of focus has half the limit there', async () => {
    const ownStar = {
      name: 'faster-ahead-of-focus',
      shapeAt: (at: Parameters<typeof disc.shapeAt>[0]) =>
        disc.shapeAt({ ...at, focusShiftUm: at.focusShiftUm * (at.focusShiftUm < 0 ? 2 : 1) }),
    };
    const rig = smallRig();
    const setting = { ownStar, snr: 30 };
    const found = await focusLimit(rig, { seed: 1, trials: 64, estimator: 'centerOfMass', setting });
    const { limitUm, before, beyond, ringDiameterPx, windowToHoldPx } = found;
    expectWithin(
      beyond.limitUm.value / before.limitUm.value,
      2,
      0.02,
      'the same frames, the search ends at 1 %',
    );
    expect(limitUm).toBe(before.limitUm);
    const holds = (focusShiftUm: number) => buildScene(rig, { ...setting, focusShiftUm }).windowToHoldPx;
    expect(windowToHoldPx).toBe(holds(-limitUm.value));
    expect(windowToHoldPx).toBeGreaterThan(holds(limitUm.value));
    // F/5 on pixels of 4 um
    for (const end of ['low', 'value', 'high'] as const)
      expectWithin(ringDiameterPx[end], limitUm[end] / 20, 1e-9, 'rounding');
  });
  test('no ring may be wider than half of the sensor', async () => {
    const guideCamera = { pixelSizeUm: 4, exposureS: 2, readNoiseE: 2, widthPx: 64, heightPx: 200 };
    const rig = smallRig({ guideCamera, tracking: { windowPx: 61 }, guideStar: { magnitude: 9 } });
    const { limitUm, limitedBy } = await focusLimit(rig, { seed: 1, trials: 64, estimator: 'centerOfMass' });
    expect(limitedBy).toBe('ring-size');
    // 32 px at F/5 on pixels of 4 um
    expect(limitUm).toEqual({ low: 640, value: 640, high: 640 });
  });
  test('it tells of each shift that it tries, and of the frames of the last ones', async () => {
    const told: Progress[] = [];
    const rig = smallRig({ guideStar: { magnitude: 13.5 }, tracking: { windowPx: 41 } });
    const onProgress = (progress: Progress) => told.push(progress);
    const { shiftsTried, trialsPerShift } = await focusLimit(rig, { seed: 2, trials: 256, onProgress });
    expect(told.map(({ done }) => done)).toEqual(Array.from({ length: shiftsTried }, (_, i) => i + 1));
    for (const { done, total } of told) expect(total).toBeGreaterThanOrEqual(done);
    expect(told[0]!.total).toBeGreaterThan(1);
    expect(trialsPerShift).toBe(256);
  });
  test('a star outside the budget even in focus has no limit to give', async () => {
    const hopeless = await focusLimit(faint, { seed: 5, setting: { fluxE: 20 } });
    // Half of the usual 1024: no shift is near the limit.
    expect(hopeless.trialsPerShift).toBe(512);
    expect(hopeless.limitedBy).toBe('out-of-budget-in-focus');
    expect(hopeless.limitUm).toEqual({ low: 0, value: 0, high: 0 });
  });
  test('a star that saturates is flagged, and usable all the same', async () => {
    const limit = await focusLimit(smallRig(), { seed: 6, trials: 64, setting: { fluxE: 3e7 } });
    expect(limit.saturatedUm).toBeGreaterThan(limit.limitUm.low);
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
