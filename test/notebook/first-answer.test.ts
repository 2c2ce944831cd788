/** Numbers settle: the first answer of the page is a range that holds the later one. */
import { expect, test } from 'vitest';
import { roughLimit, shareOf } from '../../examples/notebook/compute/first-answer.ts';
import { randomRigs } from './random-rigs.ts';

test('the limit of few frames is a range that holds the limit of many for 95 % of 200 random rigs', () => {
  const rigs = randomRigs(200);
  let held = 0;
  let near = 0;
  for (const rig of rigs) {
    const { value, low, high } = roughLimit(rig, 'few');
    // The limit of many frames lies between two rings when the budget is spent at the outer and not at the
    // inner one.
    const shareAt = (ringPx: number) => shareOf(rig, ringPx, 'many', 256).share;
    const isWithin =
      high === 0 ? shareAt(0) > 1 : (low === 0 || shareAt(low) <= 1) && (low === high || shareAt(high) >= 1);
    if (isWithin) held++;
    if (high - low <= Math.max(5, 0.8 * value)) near++;
  }
  expect(held).toBeGreaterThanOrEqual(0.95 * rigs.length);
  // A range as wide as its number would hold everything and say nothing.
  expect(near).toBeGreaterThanOrEqual(0.8 * rigs.length);
}, 600_000);
