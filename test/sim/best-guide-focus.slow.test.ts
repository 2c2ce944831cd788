/** What many trials tell of the best guide focus. */
import { bestGuideFocus } from '@holdfast/sim';
import { expect, test } from 'vitest';
import { smallRig } from './small-rig.ts';

const rig = smallRig({
  guideStar: { magnitude: 13.5 },
  guideFocusShiftUm: 30,
  filters: [
    { name: 'Luminance', focusShiftUm: 0 },
    { name: 'Blue', focusShiftUm: -60 },
    { name: 'H-alpha', focusShiftUm: 300 },
  ],
});

test('the interval holds what many more trials find, about as often as it says', async () => {
  // With time as weight the shape of the curve matters, and with it chance.
  const filters = rig.filters.map((filter, i) => ({ ...filter, minutes: [100, 100, 10][i] }));
  const weighted = { ...rig, filters };
  const many = await bestGuideFocus(weighted, { seed: 'many', aim: 'mean', trials: 2048 });
  let held = 0;
  let width = 0;
  for (let seed = 0; seed < 6; seed++) {
    const { settingUm } = await bestGuideFocus(weighted, { seed, aim: 'mean' });
    if (settingUm.low <= many.settingUm.value && settingUm.high >= many.settingUm.value) held++;
    width += (settingUm.high - settingUm.low) / 6;
  }
  // Of 6 at 95 % at least 4, but for one time in 450.
  expect(held).toBeGreaterThanOrEqual(4);
  // Wider than the resolution, narrower than the shifts themselves.
  expect(width).toBeGreaterThan(1.5);
  expect(width).toBeLessThan(60);
});
