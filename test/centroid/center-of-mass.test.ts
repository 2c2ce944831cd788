import { centerOfMass, prepareCenterOfMass } from '@holdfast/centroid';
import { createImage, renderStar } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { describeEstimatorContract } from './estimator-contract.ts';

const size = { width: 31, height: 26 };
const star = (x: number, y: number, flux: number, fwhmPx = 3) =>
  renderStar({ kind: 'gaussian', fwhmPx }, { ...size, x, y, flux });

const noise = { readNoiseE: 2 };

describeEstimatorContract('center of mass', {
  measure: centerOfMass,
  prepare: prepareCenterOfMass,
  // (1/pi) exp(-2 pi^2 sigma^2), the pixel-phase error, is below 1e-10 px from FWHM 2.5 px on; the rest is
  // light beyond the image, 4e-7 px for FWHM 5 px at the place nearest to an edge.
  accuracyPx: 1e-6,
  repeatPx: 1e-9,
  onConstant({ x, y, flux }, level, { width, height }) {
    const share = (width * height * level) / (flux + width * height * level);
    return { x: x + share * ((width - 1) / 2 - x), y: y + share * ((height - 1) / 2 - y) };
  },
  onEqualPixels: 'middle',
  failures: {
    'too-few-pixels': [star(13, 12, 900), { guess: { x: 13.4, y: 12.4 }, radiusPx: 0.7 }],
    saturated: [star(13, 12, 5000), { saturationE: 300 }],
    'no-flux': [createImage(31, 26), {}],
    'too-faint': [star(13, 12, 90), { noise }],
    // Two electrons on the left, one negative one on the right: the balance lies beyond the lever.
    outside: [createImage(5, 1, new Float64Array([0, 2, 0, 0, -1])), {}],
    clipped: [star(2, 12, 900), { guess: { x: 2, y: 12 }, radiusPx: 6 }],
  },
  refused: [
    ['recenter', { recenter: -1 }],
    ['recenter', { recenter: 1.5 }],
  ],
});

describe('center of mass', () => {
  test('the example of its documentation', () => {
    const stamp = createImage(3, 3, new Float64Array([0, 1, 0, 1, 4, 3, 0, 1, 0]));
    expect(centerOfMass(stamp)).toEqual({ ok: true, x: 1.2, y: 1, flux: 10, iterations: 1 });
  });

  test('a window centered again meets a star that its guess missed', () => {
    const options = { guess: { x: 11.6, y: 13.9 }, radiusPx: 6 };
    const found = centerOfMass(star(13.3, 12.2, 1000), options);
    if (!found.ok) throw new Error(found.reason);
    expectWithin(found.x, 13.3, 0.01, 'the window may end 0.01 px off, and holds all but 1e-5 of the light');
    expectWithin(found.y, 12.2, 0.01, 'the window may end 0.01 px off, and holds all but 1e-5 of the light');
    const left = centerOfMass(star(13.3, 12.2, 1000), { ...options, recenter: 0 });
    if (!left.ok) throw new Error(left.reason);
    expect(left.iterations).toBe(1);
    expect(found.iterations).toBeGreaterThan(1);
    expect(left.x).toBeLessThan(found.x - 0.003);
  });

  test('without a guess the window finds the star by itself, beside a hot pixel', () => {
    const image = star(21.3, 7.2, 3000);
    image.set(22, 4, 400);
    const found = centerOfMass(image, { radiusPx: 6 });
    if (!found.ok) throw new Error(found.reason);
    expectWithin(found.x, 21.3, 0.01, 'all light of the star, none of the hot pixel');
    expectWithin(found.y, 7.2, 0.01, 'all light of the star, none of the hot pixel');
  });

  test('a saturated pixel outside the window does not matter', () => {
    const image = star(10, 12, 1000);
    image.set(3, 27, 5000);
    const options = { guess: { x: 10, y: 12 }, radiusPx: 5, saturationE: 4000 };
    expect(centerOfMass(image, options).ok).toBe(true);
    expect(centerOfMass(image, { saturationE: 4000 })).toEqual({ ok: false, reason: 'saturated' });
  });

  test('a window that runs off the star is outside', () => {
    // All light lies in the first window's rim and beyond: the window walks more than its radius.
    const image = star(20, 12, 1000);
    const found = centerOfMass(image, { guess: { x: 13, y: 12 }, radiusPx: 5 });
    expect(found).toEqual({ ok: false, reason: 'outside' });
  });
});
