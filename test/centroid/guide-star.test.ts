/** A star followed through frames: position, error, trend of the ring's size, lost and found again. */
import { type GuideMethod, prepareGuideStar } from '@holdfast/centroid';
import { createImage, exposeFrame, type Image, randomStream, renderStar } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';

const size = { width: 120, height: 90 };
const camera = { readNoiseE: 3, gainEPerAdu: 0.5, offsetAdu: 200, bitDepth: 16, fullWellE: 50_000 } as const;
const noise = { readNoiseE: 3 };
const sky = 40;

function frameOf(
  star: { x: number; y: number; ringPx: number; flux: number } | undefined,
  seed: number,
): Image {
  const expected =
    star === undefined
      ? createImage(size.width, size.height)
      : renderStar(
          { kind: 'annulus', outerDiameterPx: star.ringPx, obstructionRatio: 0.35, blurFwhmPx: 2.5 },
          { ...size, x: star.x, y: star.y, flux: star.flux },
        );
  for (let k = 0; k < expected.data.length; k++) expected.data[k] += sky;
  return exposeFrame(expected, camera, randomStream('guide star', seed));
}

const methods: readonly GuideMethod[] = [
  'centerOfMass',
  'thresholdedCenterOfMass',
  'gaussianFit',
  'pointSymmetryCenter',
  'runningTemplate',
];

describe.each(methods)('%s', (method) => {
  test('follows a star that wanders over the frame, within its stated errors', () => {
    const star = prepareGuideStar({ size, method, windowPx: 31, noise });
    const pulls: number[] = [];
    const away: number[] = [];
    for (let n = 0; n < 40; n++) {
      const truth = { x: 35 + 0.9 * n, y: 40 + 6 * Math.sin(n / 5) };
      const found = star.update(frameOf({ ...truth, ringPx: 12, flux: 20_000 }, n));
      expect(found.reason).toBeUndefined();
      expect(found.framesLost).toBe(0);
      pulls.push((found.x - truth.x) / found.sigmaX, (found.y - truth.y) / found.sigmaY);
      away.push(Math.abs(found.x - truth.x), Math.abs(found.y - truth.y));
    }
    expect(Math.max(...away)).toBeLessThan(0.5);
    // 80 pulls: the rms of normal ones is 1 +- 0.08. A constant offset, which a loop does not feel, is taken
    // off.
    const mean = (values: readonly number[]) => values.reduce((sum, v) => sum + v, 0) / values.length;
    const x = pulls.filter((_, k) => k % 2 === 0);
    const rms = Math.sqrt(mean(x.map((v) => (v - mean(x)) ** 2)));
    expect(rms).toBeGreaterThan(0.6);
    expect(rms).toBeLessThan(1.6);
  });
});

test('the trend of the diameter is that of the ring: two thirds of what a disc grows, a little more with a hole', () => {
  const star = prepareGuideStar({ size, windowPx: 41, noise, at: { x: 60, y: 45 }, trendFrames: 40 });
  let last = star.update(frameOf({ x: 60, y: 45, ringPx: 10, flux: 60_000 }, 0));
  for (let n = 1; n < 40; n++)
    last = star.update(frameOf({ x: 60, y: 45, ringPx: 10 + 0.2 * n, flux: 60_000 }, n));
  // Mean distance in a ring from e R to R: (2 / 3) R (1 - e^3) / (1 - e^2), here 0.727 R.
  const expected = (0.2 * ((2 / 3) * (1 - 0.35 ** 3))) / (1 - 0.35 ** 2);
  expect(Math.abs(last.diameterTrendPx - expected)).toBeLessThan(0.15 * expected);
  expect(last.diameterTrendErrorPx).toBeLessThan(0.02);
  expect(last.diameterTrendErrorPx).toBeGreaterThan(0);
});

test('a star that still stands has no trend beyond its error', () => {
  const star = prepareGuideStar({ size, windowPx: 31, noise });
  let last = star.update(frameOf({ x: 50, y: 40, ringPx: 12, flux: 20_000 }, 0));
  for (let n = 1; n < 30; n++) last = star.update(frameOf({ x: 50, y: 40, ringPx: 12, flux: 20_000 }, n));
  expect(Math.abs(last.diameterTrendPx)).toBeLessThan(4 * (last.diameterTrendErrorPx ?? 0));
});

test('a cloud: lost with its reason, the last place kept, found again where it stands then', () => {
  const star = prepareGuideStar({ size, windowPx: 31, noise });
  expect(star.update(frameOf({ x: 50, y: 40, ringPx: 10, flux: 20_000 }, 1)).ok).toBe(true);
  for (let n = 1; n <= 3; n++) {
    const lost = star.update(frameOf(undefined, 10 + n));
    expect(lost.ok).toBe(false);
    expect(lost.reason).toBeDefined();
    expect(lost.framesLost).toBe(n);
    expect(Math.abs(lost.x - 50)).toBeLessThan(0.5);
  }
  const again = star.update(frameOf({ x: 81, y: 52, ringPx: 10, flux: 20_000 }, 20));
  expect(again).toMatchObject({ ok: true, isFoundAgain: true, framesLost: 0, reason: undefined });
  expect(Math.abs(again.x - 81)).toBeLessThan(0.5);
  expect(star.update(frameOf({ x: 81, y: 52, ringPx: 10, flux: 20_000 }, 21)).isFoundAgain).toBe(false);
});

test('what stands too far away does not take the part of a lost star', () => {
  const star = prepareGuideStar({ size, windowPx: 21, noise, searchPx: 20 });
  star.update(frameOf({ x: 30, y: 40, ringPx: 6, flux: 20_000 }, 1));
  const other = star.update(frameOf({ x: 95, y: 40, ringPx: 6, flux: 20_000 }, 2));
  expect(other).toMatchObject({ ok: false, framesLost: 1 });
});

test('the same object for every frame, and no array made while the star is in its window', () => {
  const star = prepareGuideStar({ size, windowPx: 31, noise });
  const frame = frameOf({ x: 50, y: 40, ringPx: 10, flux: 20_000 }, 1);
  const first = star.update(frame);
  const made: string[] = [];
  const real = globalThis.Float64Array;
  globalThis.Float64Array = new Proxy(real, {
    construct(target, given, self) {
      made.push(String(given[0]));
      return Reflect.construct(target, given, self) as object;
    },
  });
  try {
    expect(star.update(frame)).toBe(first);
  } finally {
    globalThis.Float64Array = real;
  }
  expect(made).toEqual([]);
});

test('an empty frame at the start: no place, and no number that is none', () => {
  const reading = prepareGuideStar({ size, windowPx: 31, noise }).update(frameOf(undefined, 3));
  expect(reading).toMatchObject({ ok: false, reason: 'not-found', framesLost: 1 });
  for (const value of Object.values(reading)) expect(value).not.toBeNaN();
});

test('refuses what makes no sense', () => {
  const good = { size, windowPx: 31, noise };
  expect(() => prepareGuideStar({ ...good, window: 31 } as never)).toThrow('did you mean windowPx?');
  expect(() => prepareGuideStar({ ...good, windowPx: 200 })).toThrow(
    'windowPx must be a whole number from 9 to 90',
  );
  expect(() => prepareGuideStar({ ...good, method: 'magic' as never })).toThrow('method must be one of');
  expect(() => prepareGuideStar({ ...good, size: undefined as never })).toThrow('size must be an object');
  expect(() => prepareGuideStar(good).update(createImage(9, 9))).toThrow('image must be 120 x 90 px');
});
