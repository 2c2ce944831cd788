/** The sums of a window in one pass, against those over the list of its pixels, which a mask asks for. */
import { prepareCenterOfMass, prepareThresholdedCenterOfMass } from '@holdfast/centroid';
import { createImage, defaultCamera, exposeFrame, randomStream, renderStar } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';

const size = { width: 37, height: 29 };
const noise = { readNoiseE: 1.5 };
const ring = { kind: 'annulus', outerDiameterPx: 11, obstructionRatio: 0.35, blurFwhmPx: 2.5 } as const;
const frames = Array.from({ length: 40 }, (_, i) => {
  const random = randomStream('aperture', i);
  const star = renderStar(ring, { ...size, x: 17 + random.uniform(), y: 13 + random.uniform(), flux: 1500 });
  for (let k = 0; k < star.data.length; k++) star.data[k] += 6;
  return exposeFrame(star, defaultCamera, random).data;
});
const everyPixel = new Uint8Array(size.width * size.height).fill(1);

const setUps = {
  'center of mass in a window': (valid?: Uint8Array) =>
    prepareCenterOfMass(size, { guess: { x: 18, y: 14 }, radiusPx: 8.5, noise, ...(valid ? { valid } : {}) }),
  'center of mass of the whole image': (valid?: Uint8Array) =>
    prepareCenterOfMass(size, valid ? { valid } : {}),
  'light above a threshold, subtracted': (valid?: Uint8Array) =>
    prepareThresholdedCenterOfMass(size, {
      guess: { x: 18, y: 14 },
      radiusPx: 8.5,
      thresholdSigma: 2,
      noise,
      ...(valid ? { valid } : {}),
    }),
  'light above a threshold, kept': (valid?: Uint8Array) =>
    prepareThresholdedCenterOfMass(size, { threshold: 5, form: 'keep', noise, ...(valid ? { valid } : {}) }),
  'a threshold below the background': (valid?: Uint8Array) =>
    prepareThresholdedCenterOfMass(size, { threshold: -30, noise, ...(valid ? { valid } : {}) }),
};

describe.each(Object.entries(setUps))('%s', (_, prepare) => {
  test('has the same place to the bit, the same flux and SNR to rounding', () => {
    const fast = prepare();
    const listed = prepare(everyPixel);
    for (const pixels of frames) {
      const a = fast(pixels, undefined, 6);
      const b = listed(pixels, undefined, 6);
      if (!a.ok || !b.ok) throw new Error('not located');
      expect([a.x, a.y, a.iterations]).toEqual([b.x, b.y, b.iterations]);
      expect(a.flux).toBeCloseTo(b.flux, 8);
      expect(a.snr ?? 0).toBeCloseTo(b.snr ?? 0, 8);
      expect([a.sigmaX, a.sigmaY]).toEqual([b.sigmaX, b.sigmaY]);
    }
  });

  test('leaves unusable pixels out as the list does', () => {
    for (const bad of [Number.NaN, Infinity, -Infinity, 1e31, -1e31]) {
      const pixels = Float64Array.from(frames[0]);
      pixels[14 * size.width + 20] = bad;
      expect(prepare()(pixels, undefined, 6)).toEqual(prepare(everyPixel)(pixels, undefined, 6));
    }
  });
});

test('a saturated pixel in the window is told, one beyond it does not matter', () => {
  const measure = prepareCenterOfMass(size, {
    guess: { x: 18, y: 14 },
    radiusPx: 8.5,
    noise,
    saturationE: 3000,
  });
  const pixels = Float64Array.from(frames[1]);
  pixels[0] = 3000;
  expect(measure(pixels, undefined, 6).ok).toBe(true);
  pixels[14 * size.width + 19] = 3000;
  expect(measure(pixels, undefined, 6)).toEqual({ ok: false, reason: 'saturated' });
});

test('without predicted errors all else is the same', () => {
  const options = { guess: { x: 18, y: 14 }, radiusPx: 8.5, thresholdSigma: 2, noise };
  const whole = prepareThresholdedCenterOfMass(size, options);
  const bare = prepareThresholdedCenterOfMass(size, { ...options, predictsError: false });
  const image = createImage(size.width, size.height, Float64Array.from(frames[2]));
  const found = whole(image, undefined, 6);
  if (!found.ok) throw new Error('not located');
  const { sigmaX, sigmaY, ...rest } = found;
  expect(sigmaX).toBeGreaterThan(0);
  expect(sigmaY).toBeGreaterThan(0);
  expect(bare(image, undefined, 6)).toEqual(rest);
  // A star that is too faint is so either way.
  const empty = new Float64Array(image.data.length).fill(6);
  expect(bare(empty, undefined, 6)).toEqual(whole(empty, undefined, 6));
  expect(() => prepareCenterOfMass(size, { predictsError: 1 as unknown as boolean })).toThrow(
    'predictsError',
  );
});
