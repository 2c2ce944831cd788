/** The search for stars of one size: faint ones by their shape, and the filter against direct sums. */
import type { FoundStar } from '@holdfast/centroid';
import { lightView, requireSearch } from '@holdfast/centroid/internal';
import { type AnnulusShape, createImage, prepareStar, randomStream } from '@holdfast/psf';
import { searchOneSize } from '@holdfast/sim/internal';
import { expect, test } from 'vitest';
import { matchPeaks } from '../../../packages/sim/src/frame/search/match-map.ts';
import { matchAt } from '../../../packages/sim/src/frame/search/star-profile.ts';

const ring: AnnulusShape = { kind: 'annulus', outerDiameterPx: 36, obstructionRatio: 0.35, blurFwhmPx: 3 };
const [width, height] = [400, 300];
const backgroundE = 80;

/** Flux of a ring over its least possible error where the background alone makes noise: sum of p^2 / sky. */
function fluxAt(snr: number): number {
  const { data } = createImage(61, 61);
  prepareStar(ring, { width: 61, height: 61 }).renderInto(data, 30, 30, 1);
  return (snr * Math.sqrt(backgroundE)) / Math.sqrt(data.reduce((sum, p) => sum + p * p, 0));
}

type Ring = readonly [x: number, y: number, snr: number];

const isAt = (rings: readonly Ring[], at: { readonly x: number; readonly y: number }): boolean =>
  rings.some(([x, y]) => Math.sqrt((x - at.x) ** 2 + (y - at.y) ** 2) < 9);

/** Six frames of these rings: how many faint ones are found, and which other lights. */
function searched(
  name: string,
  bright: readonly Ring[],
  faint: readonly Ring[],
  skyAt: (x: number, y: number) => number,
): { readonly found: number; readonly others: readonly FoundStar[] } {
  const star = prepareStar(ring, { width, height });
  const one = new Float64Array(width * height);
  let found = 0;
  const others: FoundStar[] = [];
  for (let seed = 0; seed < 6; seed++) {
    const random = randomStream(name, seed);
    const image = createImage(width, height);
    for (const [x, y, snr] of [...bright, ...faint]) {
      star.renderInto(one, x, y, fluxAt(snr));
      for (let k = 0; k < one.length; k++) image.data[k]! += one[k]!;
    }
    for (let k = 0; k < image.data.length; k++)
      image.data[k] = random.poisson(image.data[k]! + skyAt(k % width, Math.floor(k / width)));
    const { stars } = searchOneSize(lightView(image), requireSearch({ maxDiameterPx: 240 }));
    found += stars.filter((light) => isAt(faint, light)).length;
    others.push(...stars.filter((light) => !isAt([...bright, ...faint], light)));
  }
  return { found, others };
}

test('faint rings are found by the shape of bright ones, and nothing else is', () => {
  const bright: Ring[] = [
    [70, 80, 60],
    [320, 220, 90],
  ];
  const faint: Ring[] = [
    [180, 60, 10],
    [90, 230, 10],
    [330, 70, 10],
    [210, 180, 10],
  ];
  // a gradient of 40 % across the frame
  const gradient = (x: number) => backgroundE * (0.8 + (0.4 * x) / width);
  const { found, others } = searched('faint rings', bright, faint, gradient);
  // of 24; in noise alone a matched filter finds more than 99 % at this threshold
  expect(found).toBeGreaterThanOrEqual(23);
  expect(others).toEqual([]);
});

test('faint rings beside a trail are found, and what the trail leaves is not', () => {
  const bright: Ring[] = [
    [70, 60, 60],
    [330, 240, 90],
  ];
  // 55 px from the middle of a trail whose light falls to 1 / e^2 within 24 px
  const faint: Ring[] = [
    [120, 205, 10],
    [300, 205, 10],
    [60, 205, 10],
    [230, 95, 10],
    [350, 95, 10],
  ];
  const trail = (_: number, y: number) => backgroundE + 60 * Math.exp(-(((y - 150) / 12) ** 2) / 2);
  const { found, others } = searched('rings beside a trail', bright, faint, trail);
  // of 30; only 25 were found when a trail asked for 1.8 times as much of all lights on it
  expect(found).toBeGreaterThanOrEqual(27);
  expect(others).toEqual([]);
});

test('the middle of a shadow of dust is no star, and a faint ring near it is one', () => {
  const bright: Ring[] = [
    [60, 60, 60],
    [340, 60, 90],
  ];
  const faint: Ring[] = [
    [70, 240, 10],
    [330, 230, 10],
  ];
  // 6 % darker between two circles about the middle, of which the inner one is as large as a star
  const shadow = (x: number, y: number): number => {
    const r = Math.sqrt((x - 200) ** 2 + (y - 150) ** 2);
    return backgroundE * (r > 20 && r < 44 ? 0.94 : 1);
  };
  const { found, others } = searched('shadow of dust', bright, faint, shadow);
  // of 12
  expect(found).toBeGreaterThanOrEqual(11);
  // all six were taken for stars; two lights beside a shadow still are
  expect(others.filter(({ x, y }) => isAt([[200, 150, 0]], { x, y }))).toEqual([]);
  expect(others.length).toBeLessThanOrEqual(2);
});

test('the filter over a whole frame says what direct sums say at one place', () => {
  const profile = {
    values: Float64Array.from({ length: 17 }, (_, at) => (at < 4 ? 0.2 : at < 12 ? 1 : 0)),
    reachPx: 8,
  };
  const pixels = new Float32Array(300 * 280);
  const random = randomStream('filter', 1);
  for (let k = 0; k < pixels.length; k++) pixels[k] = 0.01 * random.normal();
  // on both sides of where squares meet, and near an edge
  for (const [x0, y0] of [
    [231, 120],
    [40, 229],
    [150, 150],
  ] as const)
    for (let y = y0 - 8; y <= y0 + 8; y++)
      for (let x = x0 - 8; x <= x0 + 8; x++) {
        const r = Math.sqrt((x - x0) ** 2 + (y - y0) ** 2);
        if (r < 8) pixels[y * 300 + x]! += profile.values[Math.round(2 * r)]!;
      }
  const frame = { pixels, width: 300, height: 280, base: 0, sigma: 2 };
  const peaks = matchPeaks(frame, profile, 1);
  expect(peaks.map(({ x, y }) => [x, y]).sort(([a], [b]) => b! - a!)).toEqual([
    [231, 120],
    [150, 150],
    [40, 229],
  ]);
  for (const { x, y, significance } of peaks) {
    const direct = matchAt(frame, x, y, profile);
    expect(Math.abs((1.15 * significance) / direct - 1)).toBeLessThan(1e-4);
  }
});
