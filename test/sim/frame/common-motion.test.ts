/** Motion and noise of made-up tracks, whose truth is known without any picture. */
import { randomStream } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { separateMotion, type Track } from '../../../packages/sim/src/frame/sequence/common-motion.ts';
import { commonFactor, ownVariances } from '../../../packages/sim/src/frame/sequence/noise-split.ts';
import { expectWithin, expectWithinSigmas } from '../../expect-within.ts';

/** Tracks of stars with these noises; a star is missing on a share of the frames. */
function tracksOf(
  noises: readonly number[],
  frames: number,
  trial: number,
  missing = 0,
  stated: readonly number[] = noises,
): { tracks: Track[]; common: Float64Array } {
  const random = randomStream('tracks', trial);
  let at = 0;
  const common = Float64Array.from({ length: frames }, () => {
    at += 0.5 * random.normal();
    return at;
  });
  const tracks = noises.map((noise, i) => {
    const seen = Uint8Array.from({ length: frames }, () => (random.uniform() < missing ? 0 : 1));
    const values = common.map((motion, t) => (seen[t] ? 100 * i + motion + noise * random.normal() : 0));
    return { values, seen, sigma: stated[i]! };
  });
  return { tracks, common };
}

test('without noise: common motion and places to rounding, with frames missing', () => {
  const { tracks, common } = tracksOf([0, 0, 0, 0], 50, 1, 0.3, [1, 2, 3, 4]);
  const found = separateMotion(tracks, 50);
  const known = Array.from(found.starsSeen, (seen) => seen > 0);
  const mean = common.filter((_, t) => known[t]!).reduce((a, b) => a + b) / known.filter(Boolean).length;
  for (let t = 0; t < 50; t++)
    if (known[t]) expectWithin(found.common[t]!, common[t]! - mean, 1e-7, 'ends when places move by 1e-9');
  for (const [i, place] of found.places.entries())
    expectWithin(place, 100 * i + mean, 1e-7, 'ends when places move by 1e-9');
  for (const rest of found.rests) for (const one of rest) expectWithin(one, 0, 1e-7, 'the same');
});

describe('the noise of each star', () => {
  const noises = [0.02, 0.05, 0.11];
  test.each([
    ['three stars, all frames', noises, 40, 0, noises],
    ['three stars, a fifth of the frames missing', noises, 60, 0.2, noises],
    ['stated errors wrong by up to two', noises, 40, 0, [0.04, 0.04, 0.06]],
    ['five stars', [0.1, 0.1, 0.1, 0.2, 0.05], 30, 0.1, [0.1, 0.1, 0.1, 0.1, 0.1]],
  ] as const)('%s: unbiased, with the error that trials have', (_, truth, frames, missing, stated) => {
    const trials = 300;
    const sums = truth.map(() => ({ value: 0, square: 0, error2: 0 }));
    for (let trial = 0; trial < trials; trial++) {
      const { tracks } = tracksOf(truth, frames, 1000 + trial, missing, stated);
      const own = ownVariances(tracks, separateMotion(tracks, frames))!;
      for (const [i, { value, standardError }] of own.entries()) {
        sums[i]!.value += value / trials;
        sums[i]!.square += value ** 2 / trials;
        sums[i]!.error2 += standardError ** 2 / trials;
      }
    }
    for (const [i, { value, square, error2 }] of sums.entries()) {
      const scatter = Math.sqrt(square - value * value);
      // frames on which stars are missing are told from fewer differences: 3 % of the variance
      expectWithin(
        value,
        truth[i]! ** 2,
        (4 * scatter) / Math.sqrt(trials) + (missing > 0 ? 0.03 * truth[i]! ** 2 : 0),
        '4 standard errors',
      );
      expectWithin(Math.sqrt(error2) / scatter, 1, 0.25, 'rms stated error over scatter, 300 trials');
    }
  });

  test('two stars: the variance of their difference, shared as it was stated', () => {
    const trials = 300;
    let [sum, square, error2] = [0, 0, 0];
    for (let trial = 0; trial < trials; trial++) {
      const { tracks } = tracksOf([0.06, 0.08], 30, trial, 0, [0.03, 0.04]);
      const [a, b] = ownVariances(tracks, separateMotion(tracks, 30))! as [
        { value: number; standardError: number },
        { value: number; standardError: number },
      ];
      expectWithin(b.value / a.value, 16 / 9, 1e-9, 'as stated');
      sum += (a.value + b.value) / trials;
      square += (a.value + b.value) ** 2 / trials;
      error2 += (a.standardError + b.standardError) ** 2 / trials;
    }
    const scatter = Math.sqrt(square - sum * sum);
    expectWithinSigmas(sum, 0.01, scatter / Math.sqrt(trials), 4);
    expectWithin(Math.sqrt(error2) / scatter, 1, 0.25, 'rms stated error over scatter, 300 trials');
  });

  test('one factor for all: unbiased, with the error that trials have, stars missing or not', () => {
    for (const missing of [0, 0.25]) {
      const trials = 300;
      let [sum, square, error2] = [0, 0, 0];
      for (let trial = 0; trial < trials; trial++) {
        // all noises one and a half times what is stated
        const { tracks } = tracksOf([0.03, 0.06, 0.15, 0.3], 25, trial, missing, [0.02, 0.04, 0.1, 0.2]);
        const { value, standardError } = commonFactor(tracks, separateMotion(tracks, 25))!;
        sum += value / trials;
        square += value ** 2 / trials;
        error2 += standardError ** 2 / trials;
      }
      const scatter = Math.sqrt(square - sum * sum);
      expectWithin(
        sum,
        2.25,
        (4 * scatter) / Math.sqrt(trials) + (missing > 0 ? 0.03 * 2.25 : 0),
        '4 standard errors; frames on which stars are missing',
      );
      expectWithin(
        Math.sqrt(error2) / scatter,
        1,
        0.3,
        'stars of unlike noise count by their stated variance',
      );
    }
  });

  test('one star, or fewer than three frames, tell nothing', () => {
    const one = tracksOf([0.1], 30, 1).tracks;
    expect(ownVariances(one, separateMotion(one, 30))).toBeUndefined();
    expect(commonFactor(one, separateMotion(one, 30))).toBeUndefined();
    const short = tracksOf([0.1, 0.2, 0.1], 2, 1).tracks;
    expect(ownVariances(short, separateMotion(short, 2))).toBeUndefined();
  });
});
