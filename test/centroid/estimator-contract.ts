/** What every estimator promises, as one battery of tests. A new estimator joins with one call. */

import type {
  Centroid,
  EstimatorOptions,
  FailureReason,
  ImageSize,
  Located,
  Noise,
  PreparedEstimator,
} from '@holdfast/centroid';
import { estimatorPromises } from '@holdfast/centroid/contract';
import type { Image } from '@holdfast/psf';
import { createImage, randomStream, renderStar } from '@holdfast/psf';
import ndarray from 'ndarray';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { fillNoisyFrame } from './noisy-frames.ts';

/** An estimator under test, with what is to be known about it. */
export interface EstimatorFacts {
  /** The estimator with whatever options of its own it needs, beside those given. */
  measure(image: Image, options?: EstimatorOptions): Centroid;
  prepare(size: ImageSize, options?: EstimatorOptions): PreparedEstimator;
  /**
   * Largest error on a noiseless Gaussian star of FWHM 2.5 to 5 px, 5000 electrons, at any place in a pixel,
   * px.
   */
  readonly accuracyPx: number;
  /**
   * How near two answers come that should be the same but for the order of sums or the end of an iteration,
   * px.
   */
  readonly repeatPx: number;
  /** Its own options that are in electrons, set for three times the light; default none. */
  readonly tripled?: EstimatorOptions & { readonly threshold?: number };
  /**
   * Position found of a star at `at` when a constant of `level` electrons is added to every pixel of the
   * image.
   */
  onConstant(
    at: { x: number; y: number; flux: number },
    level: number,
    size: ImageSize,
  ): { x: number; y: number };
  /** What an image of equal positive pixels gives: the middle of the image, or a failure. */
  readonly onEqualPixels: 'middle' | FailureReason;
  /** For each reason that the estimator can give, an image and options that lead to it. */
  readonly failures: Readonly<Partial<Record<FailureReason, readonly [Image, EstimatorOptions]>>>;
  /** True when it works with a noise model only: then sigmas are always there. */
  readonly alwaysNoise?: boolean;
  /** Options that it refuses, beside the shared ones: name in the message, and the options. */
  readonly refused: readonly (readonly [string, object])[];
}

const width = 31;
const height = 26;
const noise = { readNoiseE: 3, backgroundE: 20 };

const star = (x: number, y: number, flux = 5000, fwhmPx = 3.3): Image =>
  renderStar({ kind: 'gaussian', fwhmPx }, { width, height, x, y, flux });

/**
 * Noise for three times the light: three times the variance, so that the weights of the pixels keep their
 * ratios.
 */
export const threeTimes = ({ readNoiseE, backgroundE = 0 }: Noise): Noise => ({
  readNoiseE: Math.sqrt(3) * readNoiseE,
  backgroundE: 3 * backgroundE,
});

const copyOf = (image: Image): Image => createImage(image.shape[1], image.shape[0], image.data.slice());

const noisyStar = (seed: number, x = 13.3, y = 11.8): Image => {
  const image = star(x, y);
  fillNoisyFrame(
    image.data,
    image.data.slice(),
    { backgroundE: 20, readNoiseE: 3 },
    randomStream('contract', seed),
  );
  return image;
};

function located(found: Centroid): Located {
  if (!found.ok) throw new Error(`not located: ${found.reason}`);
  return found;
}

function expectAt(found: Centroid, x: number, y: number, tolerance: number, why: string): void {
  const { x: gotX, y: gotY } = located(found);
  expectWithin(gotX, x, tolerance, `x: ${why}`);
  expectWithin(gotY, y, tolerance, `y: ${why}`);
}

export function describeEstimatorContract(name: string, facts: EstimatorFacts): void {
  const { measure, prepare, accuracyPx, repeatPx } = facts;

  describe(`${name}: promises of every estimator, ours or foreign`, () => {
    for (const { promise, check } of estimatorPromises({ name, prepare }, { accuracyPx, repeatPx }))
      test(promise, () => expect(check).not.toThrow());
  });

  describe(`${name}: position`, () => {
    test('a transposed image gives x for y', () => {
      const image = noisyStar(2);
      const here = located(measure(image, { noise }));
      const turned = located(measure(image.transpose(1, 0), { noise }));
      expectAt(turned, here.y, here.x, repeatPx, 'rows for columns');
      expectWithin(turned.sigmaX ?? -1, here.sigmaY ?? -2, 1e-4, 'the errors change places too');
    });

    test('three times the light: the same place, three times the flux', () => {
      const image = noisyStar(3);
      const here = located(measure(image));
      const bright = copyOf(image);
      for (let k = 0; k < bright.data.length; k++) bright.data[k] *= 3;
      const there = located(measure(bright, facts.tripled ?? {}));
      expectAt(there, here.x, here.y, repeatPx, 'only ratios count');
      expectWithin(there.flux / here.flux, 3, 1e-5, 'flux is linear');
    });

    test('a constant left in the image does what is documented', () => {
      const at = { x: 13.3, y: 11.8, flux: 5000 };
      for (const level of [0.5, 2]) {
        const image = star(at.x, at.y, at.flux);
        for (let k = 0; k < image.data.length; k++) image.data[k] += level;
        const expected = facts.onConstant(at, level, { width, height });
        expectAt(measure(image), expected.x, expected.y, accuracyPx, `background of ${level} left in`);
        expectAt(measure(image, { background: level }), at.x, at.y, accuracyPx, 'background taken off');
      }
    });

    test('a background with slopes is taken off', () => {
      const image = star(13.3, 11.8);
      const background = { level: 30, slopeX: 0.7, slopeY: -0.4, x0: 5, y0: 7 };
      for (let y = 0; y < height; y++)
        for (let x = 0; x < width; x++) image.set(y, x, image.get(y, x) + 30 + 0.7 * (x - 5) - 0.4 * (y - 7));
      expectAt(measure(image, { background }), 13.3, 11.8, accuracyPx, 'the plane is known');
      const prepared = prepare({ width, height });
      expectAt(prepared(image, undefined, background), 13.3, 11.8, accuracyPx, 'given with the image');
    });
  });

  describe(`${name}: pixels`, () => {
    test('non-finite pixels count as absent, like masked ones', () => {
      const places = [10 * width + 14, 12 * width + 20, 3 * width + 2];
      const clean = noisyStar(4);
      const valid = new Uint8Array(width * height).fill(1);
      for (const k of places) valid[k] = 0;
      const masked = measure(clean, { valid, noise });
      for (const bad of [Number.NaN, Infinity, -Infinity]) {
        const image = copyOf(clean);
        for (const k of places) image.data[k] = bad;
        expect(measure(image, { noise })).toEqual(masked);
      }
      expect(located(masked)).not.toEqual(measure(clean, { noise }));
    });

    test('masked pixels may hold anything', () => {
      const valid = new Uint8Array(width * height).fill(1);
      const image = noisyStar(5);
      for (const k of [0, 40, 11 * width + 17]) valid[k] = 0;
      const before = measure(image, { valid, noise });
      for (const k of [0, 40, 11 * width + 17]) image.data[k] = 1e9;
      expect(measure(image, { valid, noise })).toEqual(before);
    });

    test('strided, offset and transposed views give what a plain copy gives', () => {
      const image = noisyStar(6);
      const plain = measure(image, { noise });
      const wide = ndarray(
        new Float64Array(2 * width * (height + 3) + 5),
        [height, width],
        [2 * width, 2],
        5,
      );
      for (let y = 0; y < height; y++) for (let x = 0; x < width; x++) wide.set(y, x, image.get(y, x));
      expect(measure(wide, { noise })).toEqual(plain);
      const columns = ndarray(new Float64Array(width * height), [width, height]).transpose(1, 0);
      for (let y = 0; y < height; y++) for (let x = 0; x < width; x++) columns.set(y, x, image.get(y, x));
      expect(measure(columns, { noise })).toEqual(plain);
      const prepared = prepare({ width, height }, { noise });
      expect(prepared(wide)).toEqual(plain);
      expect(prepared(image.data)).toEqual(plain);
    });

    test('image, mask and guess are left as they were', () => {
      const image = noisyStar(7);
      const valid = new Uint8Array(width * height).fill(1);
      const guess = Object.freeze({ x: 13, y: 12 });
      const pixels = image.data.slice();
      measure(image, { valid, guess, radiusPx: 8, noise, background: 0.1 });
      expect(image.data).toEqual(pixels);
      expect(valid.every((v) => v === 1)).toBe(true);
    });

    test('without light there is no position', () => {
      expect(measure(createImage(width, height))).toEqual({ ok: false, reason: 'no-flux' });
      const negative = createImage(width, height, new Float64Array(width * height).fill(-4));
      expect(measure(negative)).toEqual({ ok: false, reason: 'no-flux' });
      const valid = new Uint8Array(width * height).fill(1);
      valid[200] = 0;
      expect(measure(negative, { valid })).toEqual({ ok: false, reason: 'no-flux' });
      expect(measure(star(13, 12), { valid: new Uint8Array(width * height) })).toEqual({
        ok: false,
        reason: 'too-few-pixels',
      });
    });

    test('one pixel is too few', () => {
      expect(measure(createImage(1, 1, new Float64Array([9])))).toEqual({
        ok: false,
        reason: 'too-few-pixels',
      });
    });

    test('equal pixels have no star', () => {
      const equal = createImage(width, height, new Float64Array(width * height).fill(4));
      if (facts.onEqualPixels === 'middle')
        expectAt(measure(equal), (width - 1) / 2, (height - 1) / 2, 1e-9, 'the middle of the image');
      else expect(measure(equal)).toEqual({ ok: false, reason: facts.onEqualPixels });
    });
  });

  describe(`${name}: failures and errors`, () => {
    test('sigma and snr come with a noise model, and only then', () => {
      const image = noisyStar(10);
      const without = located(measure(image));
      if (facts.alwaysNoise !== true)
        expect([without.sigmaX, without.sigmaY, without.snr]).toEqual([undefined, undefined, undefined]);
      const { sigmaX = 0, sigmaY = 0, snr = 0 } = located(measure(image, { noise }));
      expect(Math.min(sigmaX, sigmaY, snr)).toBeGreaterThan(0);
    });

    test('an uncertain background makes the position less certain', () => {
      const image = noisyStar(11);
      const options = { noise, guess: { x: 13, y: 12 }, radiusPx: 9.4 };
      const sure = located(measure(image, options));
      const unsure = located(measure(image, { ...options, backgroundSigma: 3 }));
      const level = { level: 0, levelSigma: 3 };
      expect(located(measure(image, { ...options, background: level }))).toEqual(unsure);
      expect(unsure.x).toBe(sure.x);
      expect(unsure.sigmaX).toBeGreaterThanOrEqual(sure.sigmaX ?? Infinity);
    });

    for (const [reason, [image, options]] of Object.entries(facts.failures))
      test(`'${reason}' is told`, () => {
        expect(measure(image, options)).toEqual({ ok: false, reason });
      });

    const shared: readonly (readonly [string, object])[] = [
      ['valid', { valid: new Uint8Array(3) }],
      ['valid', { valid: new Float64Array(width * height) }],
      ['guess.x', { guess: { x: Number.NaN, y: 3 } }],
      ['guess.y', { guess: { x: 3, y: Infinity } }],
      ['radiusPx', { radiusPx: 0 }],
      ['radiusPx', { radiusPx: Infinity }],
      ['background', { background: Number.NaN }],
      ['background.level', { background: { level: Infinity } }],
      ['background.levelSigma', { background: { level: 1, levelSigma: -1 } }],
      ['backgroundSigma', { backgroundSigma: -1 }],
      ['noise.readNoiseE', { noise: { readNoiseE: -1 } }],
      ['noise.readNoiseE', { noise: {} }],
      ['noise.backgroundE', { noise: { readNoiseE: 1, backgroundE: -2 } }],
      ['minSnr', { minSnr: -1 }],
      ['saturationE', { saturationE: Number.NaN }],
    ];
    for (const [option, options] of [...shared, ...facts.refused])
      test(`refuses ${option} of ${JSON.stringify(options, (_, v) => (typeof v === 'number' && !Number.isFinite(v) ? String(v) : ArrayBuffer.isView(v) ? 'array' : v))}`, () => {
        expect(() => measure(star(13, 12), options as EstimatorOptions)).toThrow(option);
      });

    test('refuses what is no image of the size prepared for', () => {
      const prepared = prepare({ width, height });
      expect(() => prepared(createImage(height, width))).toThrow(/31 x 26 px, got 26 x 31 px/);
      expect(() => prepared(new Float64Array(7))).toThrow(/806 pixels, got 7/);
      expect(() => prepare({ width: 0, height: 4 })).toThrow(/width/);
      expect(() => measure(ndarray(new Float64Array(8), [2, 2, 2]) as Image)).toThrow(/\[height, width\]/);
      expect(() => prepared(star(13, 12), { x: Number.NaN, y: 1 })).toThrow(/guess.x/);
      expect(() => prepared(star(13, 12), undefined, Number.NaN)).toThrow(/background/);
    });
  });
}
