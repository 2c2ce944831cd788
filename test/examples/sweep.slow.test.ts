/** Many kills: `sweep.test.ts` has two, `npm run soak` a hundred. */
import { expect, test } from 'vitest';
import { sweepThroughKills } from '../soak/killed-sweep.ts';
import { seededNumbers } from '../soak/seeded-numbers.ts';

test('a sweep that is killed ten times at random moments and run again gives the same file', async () => {
  expect(await sweepThroughKills(10, seededNumbers('ten kills'))).toEqual({
    killed: 10,
    cells: 24,
    same: true,
  });
});
