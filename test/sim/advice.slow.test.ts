/** Whole advices on further rigs and on measured stars. */
import { adviseRefocus, adviseStar } from '@holdfast/sim';
import { expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { smallRig } from './small-rig.ts';

const rig = smallRig({
  guideStar: { magnitude: 13.5 },
  filters: [
    { name: 'Luminance', focusShiftUm: 0 },
    { name: 'O III', focusShiftUm: 360 },
  ],
});

test('temperature and pick-off are answered when the rig names them', async () => {
  const named = smallRig({
    focuser: { umPerStep: -2 },
    filters: [
      { name: 'Luminance', focusShiftUm: 0 },
      { name: 'Blue', focuserSteps: -30 },
    ],
    temperature: { tubeExpansionPerK: 23.6e-6, nightDropK: 6 },
    pickoff: {
      flangeDistanceMm: 55,
      openingMm: 46,
      mainSensor: { widthMm: 23.5, heightMm: 15.7 },
      mirror: { widthMm: 10, depthMm: 8, distanceMm: 40 },
      edgeFromAxisMm: 13,
    },
  });
  const { thermal, pickoff, changes } = await adviseRefocus(named, { seed: 1, trials: 64 });
  expectWithin(thermal?.umPerK ?? 0, 750 * 23.6e-3, 1e-9, 'rounding');
  expect(pickoff?.star.keptFraction).toBeGreaterThan(0.5);
  expect(changes[0]).toMatchObject({ moveUm: 60, moveSteps: -30 });
});

test('the focus shift of the guide camera adds to that of each filter', async () => {
  const shifted = await adviseRefocus({ ...rig, guideFocusShiftUm: -360 }, { seed: 1, trials: 64 });
  expect(shifted.filters.map(({ focusShiftUm }) => focusShiftUm)).toEqual([-360, 0]);
  expect(shifted.filters[1].outcome).toBe('keep');
});

test('a measured star is advised on by its own light', async () => {
  const options = { seed: 1, trials: 256 };
  const bright = await adviseStar(rig, { focusShiftUm: 520, fluxE: 30_000 }, options);
  const dim = await adviseStar(rig, { focusShiftUm: 520, fluxE: 1000 }, options);
  expect(bright.outcome).toBe('keep');
  expect(dim.outcome).not.toBe('keep');
});
