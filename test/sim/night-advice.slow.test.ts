import { adviseNight, guideStarLimit, type NightAdvice } from '@holdfast/sim';
import { beforeAll, describe, expect, test } from 'vitest';
import { focusRunEffect } from '../../packages/sim/src/advice/focus-run-effect.ts';
import { expectWithin } from '../expect-within.ts';
import { smallRig } from './small-rig.ts';

const rig = smallRig({
  guideStar: { magnitude: 13.5 },
  filters: [
    { name: 'Luminance', focusShiftUm: 0 },
    { name: 'O III', focusShiftUm: 520 },
  ],
  focuser: { umPerStep: 2, focusRun: { positions: 5, spacingUm: 50, secondsEach: 4 } },
  galacticLatitudeDeg: 40,
});

describe('a whole night', () => {
  let night: NightAdvice;
  beforeAll(async () => {
    night = await adviseNight(rig, { seed: 1, trials: 64, runs: 2 });
  });
  test('holds every remedy for the filters that are not kept, and for no other', () => {
    expect(night.filters.map(({ outcome }) => outcome)).toEqual(['keep', 'trim']);
    expect(night.remedies.map(({ filter }) => filter)).toEqual(['O III']);
    const [{ trims }] = night.remedies;
    expect(trims[0].assessment.verdict).toBe('within');
    expect(trims.length).toBeGreaterThan(0);
  });
  test('asks for a star at the worst filter of the best setting', () => {
    const { bestGuideFocus, guideStarOdds } = night;
    const shift = guideStarOdds?.limit.focusShiftUm ?? 0;
    // Filters at -260 and 260 um there.
    expectWithin(Math.abs(shift), 260, 0.5, 'resolution of the setting');
    expectWithin(bestGuideFocus.settingUm.value, -260, 0.5, 'resolution of the setting');
    expect(guideStarOdds?.limit).toEqual(guideStarLimit(rig, { focusShiftUm: shift, seed: 1 }));
    expect(guideStarOdds?.count.from).toBe('totals');
  });
  test('simulates the focus run that the focuser names', () => {
    const { shiftsUm = [], durationS = 0, runs, pause, carryOn } = night.focusRun ?? {};
    expect(shiftsUm).toEqual([-100, -50, 0, 50, 100]);
    expect(durationS).toBe(5 * 5 + 1);
    expect(runs).toBe(2);
    expect(pause?.policy).toBe('pause');
    // Held for the run, and until the next frame has been measured.
    expect(pause?.withoutCorrectionS.value).toBeGreaterThanOrEqual(24);
    expect(carryOn?.withoutCorrectionS.value).toBe(0);
    expect(carryOn?.offsetArcsec.value).toBeLessThan(pause?.offsetArcsec.value ?? 0);
  });
});

test('what a rig does not name is not answered', async () => {
  const plain = await adviseNight(smallRig({ guideStar: { magnitude: 12.5 } }), { seed: 1, trials: 64 });
  expect(plain.guideStarOdds).toBeUndefined();
  expect(plain.focusRun).toBeUndefined();
  expect(plain.remedies).toEqual([]);
});

test('a focus run begins and ends at the reference filter, wherever the guide camera is set', async () => {
  const filters = [
    { name: 'Luminance', focusShiftUm: 0 },
    { name: 'Red', focusShiftUm: 40 },
  ];
  const set = { ...rig, filters, referenceFilter: 'Red', guideFocusShiftUm: -30 };
  const effect = await focusRunEffect(set, { seed: 1, runs: 1 });
  expect(effect?.shiftsUm).toEqual([-90, -40, 10, 60, 110]);
});

test('the same seed gives the same night, and it can be canceled', async () => {
  const again = () => focusRunEffect(rig, { seed: 7, runs: 1 });
  expect(await again()).toEqual(await again());
  const signal = AbortSignal.abort(new Error('enough'));
  await expect(adviseNight(rig, { seed: 1, signal })).rejects.toThrow('enough');
});
