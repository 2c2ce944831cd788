import { adviseRefocus, adviseStar, type RefocusAdvice } from '@holdfast/sim';
import { beforeAll, describe, expect, test } from 'vitest';
import { smallRig } from './small-rig.ts';

const rig = smallRig({
  guideStar: { magnitude: 13.5 },
  filters: [
    { name: 'Luminance', focusShiftUm: 0 },
    { name: 'Blue', focusShiftUm: -60 },
    { name: 'O III', focusShiftUm: 520 },
    { name: 'No filter', focusShiftUm: 1500 },
  ],
});

describe('advice on a rig', () => {
  let advice: RefocusAdvice;
  beforeAll(async () => {
    advice = await adviseRefocus(rig, { seed: 1, trials: 384 });
  });
  const outcomeOf = (name: string) => advice.filters.find(({ filter }) => filter === name)?.outcome;

  test('small shifts are kept, large ones refocused, those between trimmed', () => {
    expect(outcomeOf('Luminance')).toBe('keep');
    expect(outcomeOf('Blue')).toBe('keep');
    expect(outcomeOf('O III')).toBe('trim');
    expect(outcomeOf('No filter')).toBe('refocus');
  });
  test('it is at one with the focus limit', () => {
    for (const { focusShiftUm, outcome } of advice.filters) {
      if (Math.abs(focusShiftUm) < advice.limit.limitUm.low) expect(outcome).toBe('keep');
      if (Math.abs(focusShiftUm) > advice.limit.limitUm.high) expect(outcome).not.toBe('keep');
    }
  });
  test('a trim names its change, and stands within the budget', () => {
    const { trim, reason } = advice.filters[2];
    expect(trim?.standing.verdict).toBe('within');
    expect(reason).toContain(trim?.change);
    expect(trim?.standing.growth?.growthPercent.value).toBeLessThan(5);
  });
  test('each reason holds a number with its error and what is allowed', () => {
    for (const { reason } of advice.filters)
      expect(reason).toMatch(/\d ± \d.*% \(allowed \d|% of frames.*\(allowed \d/);
  });
  test('the focus shift of the guide camera adds to that of each filter', async () => {
    const shifted = await adviseRefocus({ ...rig, guideFocusShiftUm: -1500 }, { seed: 1, trials: 256 });
    expect(shifted.filters.map(({ focusShiftUm }) => focusShiftUm)).toEqual([-1500, -1560, -980, 0]);
    expect(shifted.filters[3].outcome).toBe('keep');
  });
});

test('a star too faint even in focus: refocusing does not help, and the advice says so', async () => {
  const { outcome, reason } = await adviseStar(
    rig,
    { focusShiftUm: 100, fluxE: 25 },
    { seed: 1, trials: 256 },
  );
  expect(outcome).toBe('refocus');
  expect(reason).toMatch(/refocusing alone does not help .*choose a brighter star/);
});

test('a measured star is advised on by its own light', async () => {
  const options = { seed: 1, trials: 256 };
  const bright = await adviseStar(rig, { focusShiftUm: 520, fluxE: 30_000 }, options);
  const dim = await adviseStar(rig, { focusShiftUm: 520, fluxE: 1000 }, options);
  expect(bright.outcome).toBe('keep');
  expect(dim.outcome).not.toBe('keep');
});
