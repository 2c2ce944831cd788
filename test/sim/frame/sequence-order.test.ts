import { describe, expect, test } from 'vitest';
import { fitLine, scaledByScatter } from '../../../packages/psf/src/numerics/straight-line.ts';
import { matchStars } from '../../../packages/sim/src/frame/sequence/match-stars.ts';
import { orderFrames } from '../../../packages/sim/src/frame/sequence/sequence-order.ts';
import { expectWithin } from '../../expect-within.ts';

describe('frames in the order of time', () => {
  test('sorted, with gaps counted in frames', () => {
    // every 2 s from 100, the frames of 106 and 108 missing, one late, one twice
    const times = [100, 104, 102, 110, 112, 112, 114];
    expect(orderFrames(times)).toEqual({
      order: [0, 2, 1, 3, 4, 5, 6],
      times: [0, 2, 4, 10, 12, 12, 14],
      timed: true,
      outOfOrder: 1,
      sameTime: 1,
      intervalS: 2,
      gaps: [{ after: 2, missing: 2 }],
    });
  });
  test('one frame without a time: the order in which they came', () => {
    expect(orderFrames([5, undefined, 1])).toMatchObject({
      order: [0, 1, 2],
      times: [0, 1, 2],
      timed: false,
      gaps: [],
    });
    expect(orderFrames([])).toMatchObject({ order: [], timed: false });
    expect(orderFrames([7, 7])).toMatchObject({ timed: true, sameTime: 1, intervalS: 0, gaps: [] });
  });
});

describe('which star is which', () => {
  const known = [
    { x: 10, y: 20, fluxE: 1000 },
    { x: 50, y: 25, fluxE: 500 },
    { x: 30, y: 70, fluxE: 300 },
  ];
  const moved = (dx: number, dy: number, dim = 1) =>
    known.map(({ x, y, fluxE }) => ({ x: x + dx, y: y + dy, fluxE: fluxE * dim }));
  test('a common displacement, stars in any order, clouds, a newcomer', () => {
    const [a, b, c] = moved(200.5, -15.25, 0.3) as [never, never, never];
    const found = [c, { x: 55, y: 30, fluxE: 900 }, a, b];
    const match = matchStars(known, found, 3)!;
    expect(match.partners).toEqual([2, 3, 0]);
    expectWithin(match.dx, 200.5, 1e-9, 'exact');
    expectWithin(match.dy, -15.25, 1e-9, 'exact');
  });
  test('one of them lost', () => {
    expect(matchStars(known, moved(3, 4).slice(1), 3)!.partners).toEqual([-1, 0, 1]);
  });
  test('a lone star: the nearest as bright as it was, or none', () => {
    const one = known.slice(0, 1);
    const found = [
      { x: 300, y: 20, fluxE: 1000 },
      { x: 14, y: 22, fluxE: 900 },
      { x: 11, y: 20, fluxE: 90 },
    ];
    expect(matchStars(one, found, 3)!.partners).toEqual([1]);
    expect(matchStars(one, found.slice(2), 3)).toBeUndefined();
    expect(matchStars(one, [], 3)).toBeUndefined();
  });
});

describe('a straight line', () => {
  test('Numerical Recipes’ sums by hand: three points of unlike errors', () => {
    // weights 1, 1/4, 1: sum 9/4, x0 = (0 + 1/4 + 2) / (9/4) = 1, mean y = (1 + 1 + 5) / (9/4) = 28/9
    // Sxx = 1 + 0 + 1 = 2, Sxy = -1 (1 - 28/9) + (5 - 28/9) = 19/9 + 17/9 = 4, slope 2
    const line = fitLine([
      { x: 0, y: 1, sigma: 1 },
      { x: 1, y: 4, sigma: 2 },
      { x: 2, y: 5, sigma: 1 },
    ])!;
    expectWithin(line.slope.value, 2, 1e-12, 'rounding');
    expectWithin(line.slope.standardError, Math.sqrt(1 / 2), 1e-12, 'rounding');
    expectWithin(line.offset.value, 28 / 9, 1e-12, 'rounding');
    expectWithin(line.offset.standardError, 2 / 3, 1e-12, 'rounding');
    expectWithin(line.x0, 1, 1e-12, 'rounding');
    // residuals -1/9, 8/9, -1/9: 1/81 + 16/81 + 1/81
    expectWithin(line.chiSquare, 18 / 81, 1e-12, 'rounding');
    const scaled = scaledByScatter(line);
    expectWithin(scaled.slope.standardError, Math.sqrt((1 / 2) * (18 / 81)), 1e-12, 'one degree of freedom');
    expectWithin(scaledByScatter(line, 1).slope.standardError, Math.sqrt(1 / 2), 1e-12, 'never smaller');
  });
  test('one place has no slope', () => {
    expect(fitLine([{ x: 1, y: 2, sigma: 1 }])).toBeUndefined();
    expect(
      fitLine([
        { x: 1, y: 2, sigma: 1 },
        { x: 1, y: 3, sigma: 1 },
      ]),
    ).toBeUndefined();
  });
});
