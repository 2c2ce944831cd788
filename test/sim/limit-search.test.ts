/** The search for the focus limit on shares that are known: where it looks, what it finds, how sure it is. */
import { describe, expect, test } from 'vitest';
import type { FocusPoint } from '../../packages/sim/src/focus/focus-point.ts';
import { searchLimit } from '../../packages/sim/src/focus/limit-search.ts';
import { expectWithin } from '../expect-within.ts';

const ladderUm = [15, 24, 38, 61, 98, 157, 251];
/** How far each batch of trials, left out, moves the share. */
const moves = [0.01, -0.02, 0.03, 0, 0.015, -0.01, -0.03, 0.005];

async function search(
  shareAt: (distanceUm: number) => number,
  firstGuessUm = 80,
  spentBy: FocusPoint['share']['spentBy'] = 'fwhm-growth',
) {
  const asked: [number, boolean][] = [];
  const { found, tried } = await searchLimit({
    firstGuessUm,
    ladderUm,
    async pointAt(distanceUm, isNear) {
      asked.push([distanceUm, isNear]);
      const share = shareAt(distanceUm);
      return {
        focusShiftUm: -distanceUm,
        share: { share, shareError: 0, spentBy: share > 1 ? spentBy : 'rms-error' },
        without: moves.map((move) => share * (1 + move)),
        saturated: false,
        trials: 512,
      };
    },
  });
  expect(tried.map(({ focusShiftUm }) => focusShiftUm)).toEqual(asked.map(([distanceUm]) => distanceUm));
  return { found, asked, distances: asked.map(([distanceUm]) => distanceUm) };
}

const limitOf = ({ found }: Awaited<ReturnType<typeof search>>) => {
  if (found.kind !== 'limit') throw new Error(found.kind);
  return found;
};

describe('a share that grows as a power of the distance', () => {
  test.each([
    [1, 55],
    [2, 115],
    [2, 44],
    [4, 130],
    [9, 77],
  ])('power %d, limit %d µm, with the interval of the jackknife', async (power, limitUm) => {
    const result = await search((distance) => (distance / limitUm) ** power + 1e-9);
    const { limitUm: got, limitedBy } = limitOf(result);
    expect(limitedBy).toBe('fwhm-growth');
    // The curve between points is a power of the distance only nearly.
    expectWithin(got.value / limitUm, 1, 3e-3, 'a monotone cubic between points up to 3 % away');
    const without = moves.map((move) => limitUm * (1 + move) ** (-1 / power));
    const mean = without.reduce((a, b) => a + b, 0) / without.length;
    const squares = without.reduce((sum, value) => sum + (value - mean) ** 2, 0);
    // Student's 97.5 % point of 7 degrees of freedom: 2.3646 (textbook table).
    const half = 2.3646 * Math.sqrt((7 / 8) * squares);
    expectWithin((got.high - got.low) / (2 * half), 1, 0.1, 'the slope of the curve there');
    expectWithin((got.high + got.low) / 2, got.value, 1e-9 * limitUm, 'to both sides alike');
    // In focus, a bracket from the guess on, then a place or two near the limit.
    expect(result.asked.length).toBeLessThan(9);
    const near = result.asked.filter(([, isNear]) => isNear);
    // One near place is enough where it lies within 3 % of the power's own limit.
    expect(near.length).toBe(1);
    for (const [distance, isNear] of result.asked)
      expect(isNear).toBe(!(distance === 0 || ladderUm.includes(distance)));
    // A place near the limit was tried: within 3 %.
    expect(Math.min(...near.map(([distance]) => Math.abs(distance / limitUm - 1)))).toBeLessThan(0.03);
  });

  test('starts a little inside the guess and goes outwards, or inwards when that is too far already', async () => {
    expect((await search((distance) => (distance / 120) ** 2)).distances.slice(0, 4)).toEqual([
      0, 61, 98, 157,
    ]);
    expect((await search((distance) => (distance / 30) ** 2)).distances.slice(0, 4)).toEqual([0, 61, 38, 24]);
    // 0.9 of the guess is compared with the ladder.
    expect((await search((distance) => (distance / 65) ** 2, 68)).distances[1]).toBe(61);
    expect((await search((distance) => (distance / 65) ** 2, 67.5)).distances[1]).toBe(38);
    // A guess below the ladder, or a limit there: from focus.
    expect((await search((distance) => (distance / 20) ** 2, 10)).distances.slice(0, 3)).toEqual([0, 15, 24]);
    const inside = await search((distance) => (distance / 9) ** 2 + 0.01, 10);
    expect(inside.distances.slice(0, 2)).toEqual([0, 15]);
    expectWithin(limitOf(inside).limitUm.value, 9, 0.1, 'between focus and the first rung');
  });
});

test.each([0, 0.2])('a share that jumps from %d: halved to 3 %, no power is trusted', async (low) => {
  const result = await search((distance) => (distance < 120 ? low : 50), 80, 'window');
  const { limitUm, limitedBy } = limitOf(result);
  expect(limitedBy).toBe('window');
  const inside = Math.max(...result.distances.filter((distance) => distance < 120));
  const outside = Math.min(...result.distances.filter((distance) => distance >= 120));
  expect(outside - inside).toBeLessThanOrEqual(0.03 * outside);
  // From 59 µm to 3.6 takes 4 to 5 halvings; a secant of logarithms is no better at a jump.
  expect(result.asked.filter(([, isNear]) => isNear).length).toBeLessThanOrEqual(6);
  expect(limitUm.value).toBeGreaterThan(inside);
  expect(limitUm.value).toBeLessThan(outside);
});

test('within the budget everywhere, or nowhere', async () => {
  const everywhere = await search(() => 1);
  expect(everywhere.found).toEqual({ kind: 'beyond-range' });
  expect(everywhere.distances).toEqual([0, 61, 98, 157, 251]);
  const nowhere = await search(() => 1.001);
  expect(nowhere.found).toEqual({ kind: 'spent-in-focus' });
  expect(nowhere.asked).toEqual([[0, false]]);
});

test('an interval ends at focus and at the largest distance', async () => {
  const flat = limitOf(await search((distance) => 0.99 + 0.00005 * distance)).limitUm;
  expect([flat.low, flat.high]).toEqual([0, 251]);
});
