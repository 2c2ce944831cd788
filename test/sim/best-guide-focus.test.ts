import { type BestGuideFocus, bestGuideFocus, focusLimit, measureError } from '@holdfast/sim';
import { beforeAll, describe, expect, test } from 'vitest';
import { monotoneCubic } from '../../packages/psf/src/numerics/monotone-cubic.ts';
import { type ShareCurve, tabulateFocusCurve } from '../../packages/sim/src/focus/focus-curve.ts';
import {
  costOf,
  type FilterRange,
  type GuideFocusAim,
  searchGuideFocus,
} from '../../packages/sim/src/focus/guide-focus-search.ts';
import { buildScene } from '../../packages/sim/src/trials/scene.ts';
import { expectWithin } from '../expect-within.ts';
import { shareOfTrials, smallRig } from './small-rig.ts';

const at = (shift: number, weight = 1, drift = [0, 0]): FilterRange => ({
  filter: String(shift),
  lowUm: shift + drift[0],
  highUm: shift + drift[1],
  weight,
});
const settle = (
  shareAt: ShareCurve,
  filters: readonly FilterRange[],
  aim: GuideFocusAim = 'worst',
  tolerance = 0,
) =>
  searchGuideFocus((setting) => costOf(() => shareAt, filters, aim, setting), {
    fromUm: -3000,
    toUm: 3000,
    tolerance,
  }).settingUm;
/** Step of the finest grid over 6000 um. */
const fine = 0.05;

describe('the setting of least cost, by hand', () => {
  test.each([
    ['square', (s: number) => s * s],
    ['modulus', (s: number) => Math.abs(s)],
    ['with a floor', (s: number) => 0.1 + 1e-9 * s ** 4],
  ])('the same on both sides and growing (%s): minus the middle of the range', (_, shareAt) => {
    for (const shifts of [[0], [-1020, 180, 25], [17, 300, 310, 320], [-60, -900]]) {
      const midrange = (Math.min(...shifts) + Math.max(...shifts)) / 2;
      expectWithin(
        settle(
          shareAt,
          shifts.map((shift) => at(shift)),
        ),
        -midrange,
        fine,
        'step of the grid',
      );
    }
  });
  test('four times as costly ahead of focus: the extremes are as well off as one another', () => {
    const shareAt = (s: number) => (s < 0 ? 4 : 1) * s * s;
    // (b + g)^2 = 4 (a + g)^2 with a + g < 0 < b + g: g = -(2 a + b) / 3
    expectWithin(settle(shareAt, [at(-300), at(600), at(100)]), 0, fine, 'step of the grid');
    expectWithin(settle(shareAt, [at(-500), at(250)]), 250, fine, 'step of the grid');
  });
  test('the mean over time of a square: minus the mean of the shifts, weighted by time', () => {
    const shifts = [at(0, 60), at(300, 20), at(-90, 40)];
    const mean = (300 * 20 - 90 * 40) / 120;
    expectWithin(
      settle((s) => s * s, shifts, 'mean'),
      -mean,
      fine,
      'step of the grid',
    );
  });
  test('a drift counts with both of its ends, or with its mean', () => {
    const drifting = [at(0, 1, [-100, 0]), at(200, 1, [-100, 0])];
    expectWithin(
      settle((s) => s * s, drifting),
      -50,
      fine,
      'ends at -100 and 200',
    );
    expectWithin(
      settle((s) => s * s, drifting, 'mean'),
      -50,
      fine,
      'means at -50 and 150',
    );
  });
  test('where chance cannot tell settings apart, the middle one', () => {
    const flat = (s: number) => (Math.abs(s) < 400 ? 0.2 + 1e-4 * Math.sin(s) : 1);
    expectWithin(settle(flat, [at(0), at(100)], 'worst', 0.001), -50, 1, 'edges of the flat part');
  });
  test('a star that saturates in focus: all filters on one side', () => {
    const saturating = (s: number) => (Math.abs(s) < 150 ? 50 : (s / 600) ** 2);
    const setting = settle(saturating, [at(-100), at(0), at(140)]);
    // 240 um from first to last do not fit beside focus on both sides.
    expect(Math.min(Math.abs(setting - 100), Math.abs(setting + 140))).toBeGreaterThanOrEqual(150 - fine);
    for (const shift of [-100, 0, 140]) expect(saturating(shift + setting)).toBeLessThan(1);
  });
});

describe('a monotone curve through points', () => {
  const x = Float64Array.of(0, 1, 3, 4, 8);
  const y = Float64Array.of(0, 0, 2, 5, 6);
  const curve = monotoneCubic(x, y);
  test('goes through them, and never back', () => {
    x.forEach((place, i) => {
      expectWithin(curve(place), y[i], 1e-12, 'rounding');
    });
    for (let place = 0; place < 8; place += 0.01)
      expect(curve(place + 0.01)).toBeGreaterThanOrEqual(curve(place) - 1e-12);
  });
  test('is a straight line through points on one, beyond its ends, too', () => {
    const line = monotoneCubic(Float64Array.of(-1, 0, 5), Float64Array.of(3, 5, 15));
    for (const place of [-4, -0.3, 2.2, 9]) expectWithin(line(place), 5 + 2 * place, 1e-12, 'rounding');
  });
  test.each([
    [[1], [1]],
    [
      [1, 1],
      [1, 2],
    ],
    [[0, 1], [1]],
  ])('refuses x = %j, y = %j', (places, values) => {
    expect(() => monotoneCubic(Float64Array.from(places), Float64Array.from(values))).toThrow(RangeError);
  });
});

const rig = smallRig({
  guideStar: { magnitude: 13.5 },
  guideFocusShiftUm: 30,
  filters: [
    { name: 'Luminance', focusShiftUm: 0 },
    { name: 'Blue', focusShiftUm: -60 },
    { name: 'H-alpha', focusShiftUm: 300 },
  ],
});

describe('a rig with a round star', () => {
  let best: BestGuideFocus;
  beforeAll(async () => {
    best = await bestGuideFocus(rig, { seed: 1 });
  });
  test('is set to minus the middle of its filters, and the extremes are equally well off', () => {
    expectWithin(best.settingUm.value, -120, 0.5, 'resolution');
    expectWithin(best.moveUm, -150, 0.5, 'from 30 to -120');
    const shareOf = (name: string) => best.filters.find(({ filter }) => filter === name)?.share.value ?? 0;
    expectWithin(shareOf('Blue') / shareOf('H-alpha'), 1, 0.01, 'half a µm of resolution');
    expect(shareOf('Luminance')).toBeLessThan(shareOf('Blue'));
    expect(best.verdict).toBe('within');
    expect(best.symmetric).toBe(true);
    expect(best.cost.value).toBeLessThan(best.costNow);
  });
  test('its limits are those of the limit search, and the margins reach to them', async () => {
    const { limitUm } = await focusLimit(rig, { seed: 2, trials: 1024 });
    const { limitsUm, marginBeforeUm, marginBeyondUm, keepsAllUm } = best;
    expect(limitsUm?.beyond.low).toBeLessThan(limitUm.high);
    expect(limitsUm?.beyond.high).toBeGreaterThan(limitUm.low);
    expectWithin(limitsUm?.before.value ?? 0, -(limitsUm?.beyond.value ?? 1), 1e-6, 'a round star');
    expectWithin(
      (marginBeforeUm?.value ?? 0) + 180,
      limitsUm?.beyond.value ?? 0,
      1,
      '-60 - 120 µm, resolution',
    );
    expectWithin(
      (marginBeyondUm?.value ?? 0) + 180,
      limitsUm?.beyond.value ?? 0,
      1,
      '300 - 120 µm, resolution',
    );
    expectWithin(keepsAllUm?.low ?? 0, -120 - (marginBeforeUm?.value ?? 0), 1, 'resolution');
    expectWithin(keepsAllUm?.high ?? 0, -120 + (marginBeyondUm?.value ?? 0), 1, 'resolution');
  });
  test('a cooling night moves it by half of the drift', async () => {
    const cold = {
      ...rig,
      temperature: { umPerK: 20, nightDropK: 5, nightHours: 8, guidePathUmPerK: 0, mirrorExpansionPerK: 0 },
    };
    const found = await bestGuideFocus(cold, { seed: 1 });
    // Shifts from -160 to 300 um: the drift takes both cameras 100 um ahead of focus.
    expect(found.driftUm).toEqual({ low: -100, high: 0 });
    expectWithin(found.settingUm.value, -70, 0.5, 'resolution');
    const refocused = { ...cold, temperature: { ...cold.temperature, refocusEveryK: 1 } };
    expectWithin((await bestGuideFocus(refocused, { seed: 1 })).settingUm.value, -110, 0.5, 'resolution');
  });
  test('a filter that is not exposed does not count', async () => {
    const filters = rig.filters.map((filter) => ({ ...filter, minutes: filter.name === 'Blue' ? 0 : 10 }));
    const found = await bestGuideFocus({ ...rig, filters }, { seed: 1 });
    expectWithin(found.settingUm.value, -150, 0.5, 'resolution');
    expect(found.filters.map(({ filter }) => filter)).toEqual(['Luminance', 'H-alpha']);
  });
});

test('filters that one setting cannot serve: the best of all, and the setting for most of the time', async () => {
  const filters = [
    { name: 'Luminance', focusShiftUm: 0, minutes: 50 },
    { name: 'Red', focusShiftUm: 200, minutes: 40 },
    { name: 'No filter', focusShiftUm: -2500, minutes: 60 },
  ];
  const best = await bestGuideFocus({ ...rig, filters }, { seed: 1 });
  expectWithin(best.settingUm.value, 1150, 0.5, 'resolution');
  expect(best.verdict).toBe('outside');
  expect(best.keepsAllUm).toBeUndefined();
  expect(best.marginBeyondUm?.value).toBeLessThan(0);
  expect(best.partial?.leavesOut).toEqual(['No filter']);
  expectWithin(best.partial?.settingUm.value ?? 0, -100, 0.5, 'resolution');
  expect(best.partial?.verdict).toBe('within');
});

test('before the pick-off each filter has its own light: the narrow one is the one worst off', async () => {
  const band = (bandwidthNm: number) => ({ wavelengthNm: 550, bandwidthNm });
  const filters = [
    { name: 'Luminance', focusShiftUm: 0, band: band(300) },
    { name: 'Green', focusShiftUm: 0, band: band(30) },
  ];
  const bright = { ...rig, guideStar: { magnitude: 11 }, filters, filtersStand: 'before-pickoff' as const };
  const both = await bestGuideFocus(bright, { seed: 1 });
  expect(both.worstFilter).toBe('Green');
  const [whole, green] = both.filters.map(({ share }) => share.value);
  expect(green / whole).toBeGreaterThan(1.5);
  // As for a rig with that light alone.
  const alone = { ...bright, guideCamera: { ...bright.guideCamera, ...band(30) }, filters: [filters[1]] };
  const { filters: shares, limitsUm } = await bestGuideFocus(alone, { seed: 1 });
  expectWithin(green, shares[0].share.value, 1e-9, 'the same frames');
  expect(both.limitsUm).toEqual(limitsUm);
});

test('the curve is what a simulation of its own finds between its points', async () => {
  const curve = await tabulateFocusCurve(rig, {
    seed: 3,
    estimator: 'thresholdedCenterOfMass',
    trials: 1024,
    fromUm: -300,
    toUm: 300,
  });
  for (const focusShiftUm of [90, -230, 350]) {
    const error = measureError(buildScene(rig, { focusShiftUm }), {
      estimator: 'thresholdedCenterOfMass',
      seed: 4,
      trials: 2048,
    });
    const { share, shareError } = shareOfTrials(rig, buildScene(rig, { focusShiftUm }), error);
    expectWithin(
      curve.shareAt(focusShiftUm) / share,
      1,
      0.02 + 4 * Math.sqrt(3) * (shareError / share),
      '2 % between points, four standard errors of 1024 and 2048 trials',
    );
  }
});

test('a star off the axis behind an edge: both sides are looked at, each to its own limit', async () => {
  const clipped = {
    ...rig,
    guideStar: { magnitude: 13.3 },
    filters: rig.filters.slice(0, 2),
    offAxis: { offAxisMm: 4, telescope: { design: 'paraboloid' as const }, clipDistance: 0.4 },
  };
  const best = await bestGuideFocus(clipped, { seed: 1 });
  expect(best.symmetric).toBe(false);
  const { before, beyond } = best.limitsUm ?? { before: { value: 0 }, beyond: { value: 0 } };
  for (const focusShiftUm of [before.value, beyond.value]) {
    const scene = buildScene(clipped, { focusShiftUm });
    const { share, shareError } = shareOfTrials(
      clipped,
      scene,
      measureError(scene, { estimator: clipped.tracking.estimator, seed: 2, trials: 256 }),
    );
    // The curve's own 512 trials are half as uncertain in the square.
    expectWithin(
      share,
      1,
      0.03 + 4 * shareError * Math.sqrt(1.5),
      'four standard errors, 3 % between points',
    );
  }
  expect(before.value).toBeLessThan(0);
  expect(best.cost.value).toBeLessThanOrEqual(best.costNow);
});

test('it can be canceled', async () => {
  const signal = AbortSignal.abort(new Error('enough'));
  await expect(bestGuideFocus(rig, { seed: 1, signal })).rejects.toThrow('enough');
});
