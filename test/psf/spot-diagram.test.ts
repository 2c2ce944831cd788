/** Rays blurred and integrated over the pixels, against the direct sum of one Gaussian a ray. */
import { describe, expect, test } from 'vitest';
import { randomStream } from '../../packages/psf/src/chance/random.ts';
import {
  leastSpotBlurFwhmPx,
  prepareSpotDiagram,
  type SpotDiagram,
  spotBlurSigma,
} from '../../packages/psf/src/image/spot-diagram.ts';
import { expectWithin } from '../expect-within.ts';
import { normalBelow, sumOfGaussians } from './sum-of-gaussians.ts';

const width = 37;
const height = 29;

function spots(...points: [x: number, y: number, weight: number][]): SpotDiagram {
  return {
    x: Float64Array.from(points, ([x]) => x),
    y: Float64Array.from(points, ([, y]) => y),
    weights: Float64Array.from(points, ([, , weight]) => weight),
  };
}

function scatter(count: number, spread: number): SpotDiagram {
  const random = randomStream(7, 'rays');
  return spots(
    ...Array.from({ length: count }, (): [number, number, number] => [
      spread * (random.uniform() - 0.5),
      spread * (random.uniform() - 0.5),
      1 / count,
    ]),
  );
}

function draw(diagram: SpotDiagram, blurFwhmPx: number, x: number, y: number, flux: number): Float64Array {
  const out = new Float64Array(width * height).fill(Number.NaN);
  prepareSpotDiagram(diagram, blurFwhmPx, { width, height }).renderInto(out, x, y, flux);
  return out;
}

const largestDifference = (a: Float64Array, b: Float64Array): number =>
  a.reduce((most, value, k) => Math.max(most, Math.abs(value - b[k])), 0);

describe('each pixel is right within 1e-9 of the flux', () => {
  for (const blurFwhmPx of [0.25, 0.6, 1, 2.5, 6, 40])
    for (const [name, diagram] of [
      ['one ray', spots([0, 0, 1])],
      ['three rays', spots([0.3, -2.1, 0.5], [4.7, 3, 0.3], [-9.2, 0.01, 0.2])],
      ['300 rays', scatter(300, 12)],
      ['rays beyond the stamp', scatter(50, 90)],
    ] as const)
      test(`${name}, blur ${blurFwhmPx} px`, () => {
        for (const [x, y] of [
          [15.3, 12.9],
          [18, 14.5],
          [-3.1, 30.4],
        ]) {
          const direct = sumOfGaussians(diagram, spotBlurSigma(blurFwhmPx), { width, height, x, y, flux: 1 });
          expectWithin(
            largestDifference(draw(diagram, blurFwhmPx, x, y, 1), direct),
            0,
            1e-9,
            'the stated bound',
          );
        }
      });
});

test('the direct sum is itself right: half of a Gaussian on a pixel border', () => {
  const sigma = 0.8;
  const direct = sumOfGaussians(spots([0, 0, 1]), sigma, { width, height, x: 14.5, y: 10, flux: 2 });
  const left = direct.reduce((sum, value, k) => sum + (k % width <= 14 ? value : 0), 0);
  expectWithin(left, 1, 1e-12, 'symmetry; the stamp ends beyond 12 sigma');
  // Phi(1.96) = 0.9750021 (any table of the normal distribution)
  expectWithin(normalBelow(1.96), 0.9750021, 5e-8, 'printed digits');
});

test('flux scales the picture, and an earlier render leaves no trace', () => {
  const plan = prepareSpotDiagram(scatter(20, 8), 2, { width, height });
  const first = new Float64Array(width * height);
  const again = new Float64Array(width * height);
  plan.renderInto(first, 17.2, 11.4, 1);
  plan.renderInto(again, 3, 25, 7);
  plan.renderInto(again, 17.2, 11.4, 4);
  expect(Array.from(again)).toEqual(Array.from(first, (value) => 4 * value));
  plan.renderInto(again, 17.2, 11.4, 0);
  expect(again.every((value) => value === 0)).toBe(true);
});

test('a star far outside the stamp leaves it dark', () => {
  for (const far of [1e3, 1e10, 1e300])
    for (const [x, y] of [
      [far, 10],
      [-far, 10],
      [10, far],
      [10, -far],
    ])
      expect(draw(scatter(20, 8), 2, x, y, 1).every((value) => value === 0)).toBe(true);
});

test('no blur is drawn as the least blur', () => {
  expect(spotBlurSigma(0)).toBe(spotBlurSigma(leastSpotBlurFwhmPx));
  expect(draw(scatter(5, 9), 0, 15, 12, 1)).toEqual(draw(scatter(5, 9), leastSpotBlurFwhmPx, 15, 12, 1));
});

test('a spread of too many blur widths is refused before memory is taken', () => {
  expect(() => draw(spots([0, 0, 0.5], [1e5, 1e5, 0.5]), 1, 0, 0, 1)).toThrow(
    /^the star must spread over at most 8000000 widths of its blur, got \d+$/,
  );
});
