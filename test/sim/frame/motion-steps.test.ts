/** Steps and clouds in a sequence: positions made up, so that the motion is known. */
import { randomStream } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import type { TrackPoint } from '../../../packages/sim/src/frame/sequence/sequence-records.ts';
import { splitMotion } from '../../../packages/sim/src/frame/sequence/sequence-split.ts';
import { expectWithin, expectWithinSigmas } from '../../expect-within.ts';

const frames = 60;
const times = Array.from({ length: frames }, (_, t) => 2 * t);
const motionPx = 0.3;
const dithers: Readonly<Record<number, { x: number; y: number }>> = {
  15: { x: 8, y: -5 },
  31: { x: -6.5, y: 0.2 },
  46: { x: 0.4, y: 9 },
};

/** Three stars that share a white motion; `sigmaOf` is the error of a star on a frame. */
function stars(
  trial: number,
  dithered: boolean,
  sigmaOf: (star: number, frame: number) => number,
): TrackPoint[][] {
  const random = randomStream('motion steps', trial);
  let [jumpX, jumpY] = [0, 0];
  const common = times.map((_, t) => {
    jumpX += dithered ? (dithers[t]?.x ?? 0) : 0;
    jumpY += dithered ? (dithers[t]?.y ?? 0) : 0;
    return { x: jumpX + motionPx * random.normal(), y: jumpY + motionPx * random.normal() };
  });
  return [0, 1, 2].map((star) =>
    common.map(({ x, y }, frame) => {
      const sigma = sigmaOf(star, frame);
      return {
        frame,
        x: 50 * star + x + sigma * random.normal(),
        y: 30 + y + sigma * random.normal(),
        sigmaX: sigma,
        sigmaY: sigma,
      };
    }),
  );
}

describe('dithers', () => {
  const even = (star: number): number => 0.05 * (star + 1);

  test('each is listed with its size, and what is left is the motion between them, without drift', () => {
    const [rms, drifts]: [number[], number[]] = [[], []];
    for (let trial = 0; trial < 20; trial++) {
      const split = splitMotion(stars(trial, true, even), { times, timed: true })!;
      expect(split.steps.map(({ frame }) => frame)).toEqual([15, 31, 46]);
      for (const { frame, x, y } of split.steps) {
        expectWithinSigmas(x.value, dithers[frame]!.x, x.standardError, 4);
        expectWithinSigmas(y.value, dithers[frame]!.y, y.standardError, 4);
      }
      for (const { rmsPx, drift } of [split.motion.x, split.motion.y]) {
        rms.push(rmsPx.value ** 2);
        drifts.push(drift.value / drift.standardError);
      }
    }
    // 40 values of 56 degrees of freedom each; the means of four stretches took 4 of 60
    const mean = rms.reduce((sum, value) => sum + value, 0) / rms.length;
    expectWithin(mean / motionPx ** 2, 56 / 60, 4 * Math.sqrt(2 / (56 * 40)), '4 sigma');
    expectWithin(Math.sqrt(drifts.reduce((sum, d) => sum + d * d, 0) / 40), 1, 0.45, '4 / sqrt(80)');
  });

  test('white motion and a gust that comes back have none', () => {
    for (let trial = 0; trial < 20; trial++) {
      const still = stars(100 + trial, false, even);
      expect(splitMotion(still, { times, timed: true })!.steps).toEqual([]);
      const gust = still.map((star) => star.map((at) => (at.frame === 20 ? { ...at, x: at.x + 9 } : at)));
      expect(splitMotion(gust, { times, timed: true })!.steps).toEqual([]);
    }
  });
});

describe('a cloud over a third of the frames', () => {
  /** Errors eight times as large for twenty frames. */
  const clouded = (star: number, frame: number): number =>
    0.05 * (star + 1) * (frame >= 20 && frame < 40 ? 8 : 1);

  test('motion and noise come out within their errors', () => {
    const [motion, noise]: [number[], number[]] = [[], []];
    for (let trial = 0; trial < 60; trial++) {
      const split = splitMotion(stars(200 + trial, false, clouded), { times, timed: true })!;
      expect(split.steps).toEqual([]);
      for (const { rmsPx } of [split.motion.x, split.motion.y])
        motion.push((rmsPx.value - motionPx) / Math.sqrt(rmsPx.standardError ** 2 + motionPx ** 2 / 80));
      noise.push((split.perStated!.value - 1) / split.perStated!.standardError);
      expect(split.stars.every((star) => star!.outliers <= 1)).toBe(true);
    }
    for (const pulls of [motion, noise]) {
      const rms = Math.sqrt(pulls.reduce((sum, pull) => sum + pull * pull, 0) / pulls.length);
      expectWithin(
        rms,
        1,
        0.45,
        'rms over the stated error; that of the motion with the draw of forty clear frames',
      );
      expect(Math.max(...pulls.map(Math.abs))).toBeLessThan(4.5);
    }
  });
});
