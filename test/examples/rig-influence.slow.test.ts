/** `npm run influence` measures every entry in half an hour: here one that every program follows. */
import { expect, test } from 'vitest';
import { committed, InfluenceMeter, programs } from '../influence/influence.ts';
import { changedEntries } from '../influence/rigs.ts';

test('the focal length, measured now, changes what the table says', async () => {
  const focalLength = changedEntries().find(({ entry }) => entry === 'telescope.focalLengthMm');
  const meter = new InfluenceMeter();
  const changes = focalLength && (await meter.programsThatChange(focalLength));
  meter.close();
  expect(changes).toEqual(programs);
  expect(committed()['telescope.focalLengthMm'].changes).toEqual(programs);
});
