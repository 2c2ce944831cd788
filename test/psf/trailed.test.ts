/** A star smeared by motion: against the closed form of a drifting Gaussian, dense paths, and its moments. */
import { prepareStar, renderStar, type StarShape, type TrailedShape } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { gaussLegendre } from '../../packages/psf/src/numerics/quadrature.ts';
import { expectWithin } from '../expect-within.ts';
import { describeShapeContract } from './shape-contract.ts';
import { normalBelow } from './sum-of-gaussians.ts';

const ring: StarShape = { kind: 'annulus', outerDiameterPx: 11, obstructionRatio: 0.4, blurFwhmPx: 2 };
const stamp = { width: 41, height: 34, x: 19.3, y: 17.8, flux: 1 };

const drift = (shape: StarShape, lengthPx: number, angleDeg: number): TrailedShape => ({
  kind: 'trailed',
  shape,
  motion: { lengthPx, angleDeg },
});

const largestDifference = (a: Float64Array, b: Float64Array): number =>
  a.reduce((most, value, k) => Math.max(most, Math.abs(value - b[k])), 0);

describeShapeContract('a drifting ring', drift(ring, 5.3, 25), {
  reachPx: 20,
  outside: 1e-12,
  pixelError: 1.2e-8,
  momentErrorPx: 1e-5,
  transposed: drift(ring, 5.3, 65),
  doubled: drift({ ...ring, outerDiameterPx: 22, blurFwhmPx: 4 }, 10.6, 25),
  refused: [
    ['motion', 'east'],
    ['motion', null],
    ['shape', 'ring'],
  ],
});

describe('a straight drift', () => {
  test('of a Gaussian along a row is its closed form', () => {
    // (1 / L) integral of Phi((t - s) / sigma) ds = (sigma / L) (K((t + L/2) / sigma) - K((t - L/2) /
    // sigma)), K(t) = t Phi(t) + phi(t): integral of the normal distribution function.
    for (const [lengthPx, fwhmPx] of [
      [0.3, 1],
      [4, 1],
      [4, 2.5],
      [17, 0.6],
      [3, 0.25],
      [30, 4],
    ]) {
      const sigma = fwhmPx / (2 * Math.sqrt(2 * Math.log(2)));
      const k = (t: number): number => t * normalBelow(t) + Math.exp(-0.5 * t * t) / Math.sqrt(2 * Math.PI);
      const below = (edge: number): number =>
        (sigma / lengthPx) * (k((edge + lengthPx / 2) / sigma) - k((edge - lengthPx / 2) / sigma));
      const got = renderStar(drift({ kind: 'gaussian', fwhmPx }, lengthPx, 0), stamp);
      for (let j = 0; j < stamp.height; j++) {
        const inRow = normalBelow((j + 0.5 - stamp.y) / sigma) - normalBelow((j - 0.5 - stamp.y) / sigma);
        for (let i = 0; i < stamp.width; i++)
          expectWithin(
            got.get(j, i),
            inRow * (below(i + 0.5 - stamp.x) - below(i - 0.5 - stamp.x)),
            1e-9,
            'the stated bound',
          );
      }
    }
  });

  const { nodes, weights } = gaussLegendre(300);
  const dense = (shape: StarShape, lengthPx: number, angleDeg: number): TrailedShape => ({
    kind: 'trailed',
    shape,
    motion: Array.from(nodes, (node, n) => ({
      dxPx: 0.5 * lengthPx * node * Math.cos((angleDeg * Math.PI) / 180),
      dyPx: 0.5 * lengthPx * node * Math.sin((angleDeg * Math.PI) / 180),
      weight: weights[n],
    })),
  });
  for (const [shape, lengthPx] of [
    [{ kind: 'gaussian', fwhmPx: 2, axisRatio: 0.6, angleDeg: 80 }, 9],
    [{ kind: 'moffat', fwhmPx: 2.5, beta: 2.5 }, 9],
    [{ kind: 'moffat', fwhmPx: 1, beta: 4.8 }, 4],
    [ring, 14],
    [{ kind: 'coma', sagittalComaPx: 2, angleDeg: 70, obstructionRatio: 0.3, blurFwhmPx: 1.5 }, 6],
  ] satisfies [StarShape, number][])
    test(`of ${lengthPx} px is a path of 300 points: ${JSON.stringify(shape)}`, () => {
      const got = renderStar(drift(shape, lengthPx, 33), stamp);
      const expected = renderStar(dense(shape, lengthPx, 33), stamp);
      const why = 'the stated bound, and twice 1e-9 for rounding inside the shape';
      expectWithin(largestDifference(got.data, expected.data), 0, 3e-9, why);
    });

  test('of a ring without blur is off by the light that crosses a pixel border at once', () => {
    const sharp: StarShape = { kind: 'annulus', outerDiameterPx: 11, obstructionRatio: 0.4, blurFwhmPx: 0 };
    const got = renderStar(drift(sharp, 6, 33), stamp);
    const expected = renderStar(dense(sharp, 6, 33), stamp);
    expectWithin(
      largestDifference(got.data, expected.data),
      0,
      1e-6,
      'measured 4.8e-7, that of the dense path included',
    );
  });

  test('of nothing is the star at rest, and its direction has no sign', () => {
    expect(renderStar(drift(ring, 0, 40), stamp).data).toEqual(renderStar(ring, stamp).data);
    expectWithin(
      largestDifference(
        renderStar(drift(ring, 7, 40), stamp).data,
        renderStar(drift(ring, 7, 220), stamp).data,
      ),
      0,
      1e-15,
      'rounding',
    );
  });

  test('adds L^2 / 12 to the second moment along it and nothing across', () => {
    const lengthPx = 8;
    const second = (shape: StarShape): { xx: number; yy: number } => {
      const { data } = renderStar(shape, stamp);
      const mean = (value: (i: number, j: number) => number): number =>
        data.reduce((sum, light, k) => sum + light * value(k % 41, Math.floor(k / 41)), 0);
      return { xx: mean((i) => (i - stamp.x) ** 2), yy: mean((_, j) => (j - stamp.y) ** 2) };
    };
    const rest = second(ring);
    const moved = second(drift(ring, lengthPx, 90));
    expectWithin(moved.xx, rest.xx, 1e-5, 'the error of the ring, 1e-8 per pixel');
    expectWithin(moved.yy - rest.yy, lengthPx ** 2 / 12, 1e-5, 'the error of the ring, 1e-8 per pixel');
  });
});

describe('a path', () => {
  const at = (dxPx: number, dyPx: number, weight?: number) =>
    weight === undefined ? { dxPx, dyPx } : { dxPx, dyPx, weight };
  const trailed = (motion: TrailedShape['motion']): TrailedShape => ({
    kind: 'trailed',
    shape: ring,
    motion,
  });

  test('is the sum of its points about their mean', () => {
    const got = renderStar(trailed([at(3, 1, 3), at(5, -7, 1)]), stamp);
    const first = renderStar(ring, { ...stamp, x: stamp.x - 0.5, y: stamp.y + 2, flux: 0.75 });
    const second = renderStar(ring, { ...stamp, x: stamp.x + 1.5, y: stamp.y - 6, flux: 0.25 });
    const sum = first.data.map((value, k) => value + second.data[k]);
    expectWithin(largestDifference(got.data, sum), 0, 1e-14, 'rounding');
  });
  test('of one point is the star at rest, wherever the point lies', () => {
    expect(renderStar(trailed([at(123, -45, 0.2)]), stamp).data).toEqual(renderStar(ring, stamp).data);
  });
  test('keeps flux and center of mass', () => {
    const motion = Array.from({ length: 50 }, (_, n) => at(0.002 * n * n, 3 * Math.sin(n / 9)));
    const { data } = renderStar(trailed(motion), stamp);
    const sum = data.reduce((a, b) => a + b, 0);
    expectWithin(sum, 1, 1e-6, 'the error of the ring, 1e-8 per pixel');
    const x = data.reduce((total, light, k) => total + light * (k % stamp.width), 0) / sum;
    const y = data.reduce((total, light, k) => total + light * Math.floor(k / stamp.width), 0) / sum;
    expectWithin(x, stamp.x, 1e-5, 'the error of the ring, 1e-8 per pixel');
    expectWithin(y, stamp.y, 1e-5, 'the error of the ring, 1e-8 per pixel');
  });
  test('a bad point is named', () => {
    const plan = (motion: unknown) => () => prepareStar(trailed(motion as TrailedShape['motion']), stamp);
    expect(plan([])).toThrow('motion.length must be a whole number from 1 to 100000, got 0');
    expect(plan([at(0, 0), at(Number.NaN, 0)])).toThrow('motion[1].dxPx must be a finite number, got NaN');
    expect(plan([at(0, 0, -1)])).toThrow('motion[0].weight must be a finite number >= 0, got -1');
    expect(plan([at(0, 0, 0)])).toThrow('the weights of motion must have a finite sum > 0, got 0');
    expect(plan({ lengthPx: 201, angleDeg: 0 })).toThrow('motion.lengthPx must be in [0, 200], got 201');
    expect(plan({ lengthPx: 1, angleDeg: '0' })).toThrow(TypeError);
  });
});
