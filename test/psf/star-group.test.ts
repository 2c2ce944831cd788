/** A star and its neighbors: each where and as bright as asked for. */
import { prepareStar, renderStar, type StarGroupShape, type StarShape } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { lightMoments } from './light-moments.ts';
import { describeShapeContract } from './shape-contract.ts';

const ring: StarShape = { kind: 'annulus', outerDiameterPx: 9, obstructionRatio: 0.4, blurFwhmPx: 2 };
const point: StarShape = { kind: 'gaussian', fwhmPx: 2 };
const stamp = { width: 47, height: 31, x: 20.3, y: 14.8, flux: 5000 };
const group = (neighbors: StarGroupShape['neighbors'], star: StarShape = ring): StarGroupShape => ({
  kind: 'group',
  star,
  neighbors,
});

// A lone star in a group keeps every promise of a shape. With neighbors the sum is not the flux and the
// center of mass not the asked position: those promises do not hold, and the tests below say what holds in
// their place.
describeShapeContract('a group of one star', group([]), {
  reachPx: 16,
  outside: 1e-12,
  pixelError: 1.1e-8,
  momentErrorPx: 1e-5,
  doubled: group([], { ...ring, outerDiameterPx: 18, blurFwhmPx: 4 }),
  refused: [
    ['neighbors', 'none'],
    ['neighbors', undefined],
  ],
});

describe('neighbors', () => {
  const shape = group([
    { dxPx: 14, dyPx: -3.4, magnitudeDifference: 2.5 },
    { dxPx: -11.2, dyPx: 5, magnitudeDifference: -1, shape: point },
  ]);
  const image = renderStar(shape, stamp);

  test('add their own pictures: 2.5 mag fainter is a tenth of the light, 1 mag brighter 2.511886 times as much', () => {
    // Pogson's scale, 10^(-0.4 dm): 10^0.4 = 2.5118864
    const main = renderStar(ring, stamp);
    const fainter = renderStar(ring, { ...stamp, x: 34.3, y: 11.4, flux: 500 });
    const brighter = renderStar(point, { ...stamp, x: 9.1, y: 19.8, flux: 5000 * 2.5118864 });
    for (let j = 0; j < stamp.height; j++)
      for (let i = 0; i < stamp.width; i++)
        expectWithin(
          image.get(j, i),
          main.get(j, i) + fainter.get(j, i) + brighter.get(j, i),
          1e-7 * 5000 * 2.5,
          'printed digits of 2.5118864',
        );
  });
  test('make the sum exceed the flux, and the held fraction is that of the light of all stars', () => {
    const sum = image.data.reduce((a, b) => a + b, 0);
    expectWithin(sum / 5000, 1 + 0.1 + 2.5118864, 1e-6, 'all three lie in the stamp; printed digits');
    const plan = prepareStar(shape, stamp);
    const out = new Float64Array(stamp.width * stamp.height);
    for (const flux of [5000, 3, 0])
      expectWithin(
        plan.renderInto(out, stamp.x, stamp.y, flux),
        1,
        1e-8,
        'what the rings allow themselves in all pixels',
      );
    // The neighbors now lie 25 px and more beyond the left and lower border: one of 3.6118864 parts is left.
    const alone = group([
      { dxPx: -60, dyPx: 5, magnitudeDifference: -1, shape: point },
      { dxPx: 4, dyPx: 60, magnitudeDifference: 2.5 },
    ]);
    expectWithin(
      prepareStar(alone, stamp).renderInto(out, stamp.x, stamp.y, 5000),
      1 / 3.6118864,
      2e-8,
      'printed digits',
    );
  });
  test.each([
    ['trailed along', { lengthPx: 6, angleDeg: 30 }],
    ['trailed by nothing', { lengthPx: 0, angleDeg: 0 }],
    [
      'trailed on a path',
      [
        { dxPx: 0, dyPx: 0 },
        { dxPx: 3, dyPx: 1, weight: 2 },
      ],
    ],
  ] as const)('%s keep the held fraction that of all their light', (_, motion) => {
    const cut = { width: 33, height: 31 };
    const out = new Float64Array(cut.width * cut.height);
    const trail: StarShape = { kind: 'trailed', shape, motion };
    const nested = group([{ dxPx: 5, dyPx: 2, magnitudeDifference: 2.5, shape: trail }], trail);
    for (const [drawn, light] of [
      [trail, 3.6118864],
      [nested, 1.1 * 3.6118864],
    ] as const) {
      const held = prepareStar(drawn, cut).renderInto(out, stamp.x, stamp.y, 2000);
      const sum = out.reduce((a, b) => a + b, 0);
      expectWithin(held, sum / (2000 * light), 1e-7, 'printed digits');
      expect(held > 0.5 && held < 0.999, `${held} is held`).toBe(true);
    }
  });
  test('pull the center of mass by their share of the light', () => {
    const { x, y } = lightMoments(image.data, stamp.width);
    expectWithin(x, 20.3 + (14 * 0.1 - 11.2 * 2.5118864) / 3.6118864, 1e-5, 'the error of the ring');
    expectWithin(y, 14.8 + (-3.4 * 0.1 + 5 * 2.5118864) / 3.6118864, 1e-5, 'the error of the ring');
  });
  test('move with the main star', () => {
    const here = renderStar(shape, stamp);
    const there = renderStar(shape, { ...stamp, x: stamp.x + 2, y: stamp.y + 1 });
    for (let j = 0; j + 1 < stamp.height; j++)
      for (let i = 0; i + 2 < stamp.width; i++)
        expectWithin(
          there.get(j + 1, i + 2),
          here.get(j, i),
          1e-8,
          'rounding of positions, of 5000 electrons',
        );
  });
  test('may be trailed together, and be groups themselves', () => {
    const trailed = renderStar(
      {
        kind: 'trailed',
        shape,
        motion: [
          { dxPx: -2, dyPx: 0 },
          { dxPx: 2, dyPx: 0 },
        ],
      },
      stamp,
    );
    const left = renderStar(shape, { ...stamp, x: stamp.x - 2, flux: 2500 });
    const right = renderStar(shape, { ...stamp, x: stamp.x + 2, flux: 2500 });
    for (let k = 0; k < trailed.data.length; k++)
      expectWithin(trailed.data[k]!, left.data[k]! + right.data[k]!, 1e-9, 'rounding');
    const nested = group([{ dxPx: 3, dyPx: 4, magnitudeDifference: 0, shape: group([], point) }]);
    const flat = group([{ dxPx: 3, dyPx: 4, magnitudeDifference: 0, shape: point }]);
    expect(renderStar(nested, stamp).data).toEqual(renderStar(flat, stamp).data);
  });
});

test('a bad neighbor is named', () => {
  const plan = (neighbor: object) => () =>
    prepareStar(group([{ dxPx: 1, dyPx: 2, magnitudeDifference: 0, ...neighbor }]), stamp);
  expect(plan({ dxPx: Infinity })).toThrow('neighbors[0].dxPx must be a finite number, got Infinity');
  expect(plan({ dyPx: '2' })).toThrow('neighbors[0].dyPx must be a finite number, got "2"');
  expect(plan({ magnitudeDifference: 26 })).toThrow(
    'neighbors[0].magnitudeDifference must be in [-25, 25], got 26',
  );
  expect(plan({ shape: { kind: 'gaussian', fwhmPx: 0 } })).toThrow(
    'fwhmPx must be a finite number > 0, got 0',
  );
});
