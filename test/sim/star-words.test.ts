/** An answer says for which star it is, and what a star on the axis leaves out. */
import { starWords } from '@holdfast/sim';
import { expect, test } from 'vitest';
import { smallRig } from './small-rig.ts';

const pickoff = {
  flangeDistanceMm: 60,
  openingMm: 44,
  mainSensor: { widthMm: 20, heightMm: 14 },
  mirror: { widthMm: 9, depthMm: 8, distanceMm: 45 },
  edgeFromAxisMm: 12,
};

test('a rig without a pick-off is told that its star stands on the axis, and what an edge star would do', () => {
  const [, factor] = /has (\d+\.\d) times/.exec(starWords(smallRig())) ?? [];
  expect(starWords(smallRig())).toMatch(/^For a star on the axis/);
  expect(Number(factor)).toBeGreaterThan(1);
});
test('a rig with a pick-off is told where its star stands, and whether its shape is known', () => {
  expect(starWords(smallRig({ pickoff }))).toMatch(/pick-off, 17\.0 mm off the axis.*name telescope\.design/);
  const telescope = { ...smallRig().telescope, design: { kind: 'paraboloid' } };
  expect(starWords(smallRig({ pickoff, telescope }))).toMatch(/17\.0 mm .* design gives it there/);
});
