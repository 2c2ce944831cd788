/** Every number of a rig is listed with its unit, those of lists and of groups within groups, too. */
import { expect, test } from 'vitest';
import { inputsOf } from '../../examples/notebook/inputs-of.ts';
import { smallRig } from '../sim/small-rig.ts';

test('the mount of a rig is listed value by value', () => {
  const rig = smallRig();
  const mount = {
    ...rig.tracking.mount,
    driftXArcsecPerS: 0.02,
    periodicError: [
      { amplitudeArcsec: 6, periodS: 480 },
      { amplitudeArcsec: 1.5, periodS: 240 },
    ],
  };
  const listed = inputsOf({ ...rig, tracking: { ...rig.tracking, mount } }).map(
    ({ quantity, value, unit }) => `${quantity} ${value} ${unit}`,
  );
  expect(listed).toEqual(
    expect.arrayContaining([
      'mount: drift x 0.02 arcsec/s',
      'mount: periodic error 1: amplitude 6 arcsec',
      'mount: periodic error 2: period 240 s',
      `available ${rig.tracking.available.join(', ')} `,
      `turbulence height ${rig.sky.turbulenceHeightM} m`,
    ]),
  );
  expect(listed.filter((each) => each.includes('[object'))).toEqual([]);
});
