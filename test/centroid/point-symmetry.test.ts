/** The center of symmetry keeps the contract of all estimators, and does what its own text says. */

import {
  type EstimatorOptions,
  type Noise,
  type PointSymmetryOptions,
  pointSymmetryCenter,
  positionBound,
  preparePointSymmetryCenter,
} from '@holdfast/centroid';
import type { Image } from '@holdfast/psf';
import { createImage, prepareStar, randomStream, renderStar, type StarShape } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { fluxForSnr } from '../../packages/sim/src/trials/matched-snr.ts';
import { expectWithin } from '../expect-within.ts';
import { expectedStar } from '../published/expected-star.ts';
import { describeEstimatorContract, type EstimatorFacts, threeTimes } from './estimator-contract.ts';
import { fillNoisyFrame, statisticsOf } from './noisy-frames.ts';

const size = { width: 31, height: 26 };
const star = (x: number, y: number, flux: number, fwhmPx = 3) =>
  renderStar({ kind: 'gaussian', fwhmPx }, { ...size, x, y, flux });

/** Anscombe's root adds 3/8 electron of its own: three times that, too. */
const rooted = (noise: Noise): Noise => ({
  ...noise,
  backgroundE: (noise.backgroundE ?? 0) + 3 * (3 / 8) - 3 / 8,
});

const facts = (own: PointSymmetryOptions): EstimatorFacts => ({
  measure: (image: Image, options?: EstimatorOptions) => pointSymmetryCenter(image, { ...own, ...options }),
  prepare: (at, options) => preparePointSymmetryCenter(at, { ...own, ...options }),
  // The parabola-like sum of differences ends where the window cuts the star's wings: 3e-4 px at FWHM 2.5
  // px, 5e-4 px at 5.
  accuracyPx: 1e-3,
  repeatPx: 1e-6,
  ...(own.noise ? { tripled: { noise: rooted(threeTimes(own.noise)) } } : {}),
  // Only differences of pixels count. With a noise model the square root of a brighter pixel rises less:
  // symmetric as well.
  onConstant: ({ x, y }) => ({ x, y }),
  onEqualPixels: 'no-flux',
  failures: {
    'too-few-pixels': [star(13, 12, 900), { guess: { x: 13, y: 12 }, radiusPx: 1.5 }],
    saturated: [star(13, 12, 5000), { saturationE: 300 }],
    'no-flux': [createImage(31, 26), {}],
    'too-faint': [star(13, 12, 40), { noise: { readNoiseE: 5 } }],
    'not-converged': [star(13, 12, 900), { guess: { x: 22, y: 12 }, recenter: 0 } as EstimatorOptions],
    clipped: [star(0, 12, 3000), { guess: { x: 0, y: 12 }, radiusPx: 6 }],
  },
  refused: [
    ['searchPx', { searchPx: 0.5 }],
    ['recenter', { recenter: -1 }],
  ],
});

// In a window that moves along with the star, what it cuts off is the same everywhere.
describeEstimatorContract('center of symmetry', facts({ radiusPx: 9 }));
describeEstimatorContract('center of symmetry, noise known', {
  ...facts({ radiusPx: 9, noise: { readNoiseE: 3, backgroundE: 20 } }),
  alwaysNoise: true,
});

describe('center of symmetry', () => {
  const wide = { width: 45, height: 43 };
  const noise = { readNoiseE: 2, backgroundE: 15 };
  const ring: StarShape = { kind: 'annulus', outerDiameterPx: 20, obstructionRatio: 0.35, blurFwhmPx: 2.5 };

  test('a noiseless ring is met, wherever the guess stands within its search', () => {
    const image = renderStar(ring, { ...wide, x: 22.3, y: 20.7, flux: 9000 });
    for (const guess of [
      { x: 22, y: 21 },
      { x: 26, y: 17.5 },
      { x: 18.4, y: 23.3 },
    ])
      for (const options of [{}, { noise }]) {
        const found = pointSymmetryCenter(image, { ...options, guess, radiusPx: 16 });
        if (!found.ok) throw new Error(found.reason);
        expectWithin(found.x, 22.3, 2e-4, 'the splines of degree 9, and what the window cuts off');
        expectWithin(found.y, 20.7, 2e-4, 'the splines of degree 9, and what the window cuts off');
      }
  });

  test('a bright ring, without a template: the error is near the least possible, and told', () => {
    const flux = 60_000;
    const plan = prepareStar(ring, wide);
    const measure = preparePointSymmetryCenter(wide, { noise, guess: { x: 22, y: 21 }, radiusPx: 14 });
    const plain = preparePointSymmetryCenter(wide, { guess: { x: 22, y: 21 }, radiusPx: 14 });
    const expected = new Float64Array(wide.width * wide.height);
    const frame = new Float64Array(expected.length);
    const errors: number[] = [];
    const plainErrors: number[] = [];
    const chi: number[] = [];
    for (let i = 0; i < 500; i++) {
      const random = randomStream('bright ring', i);
      const x = 21.5 + random.uniform();
      const y = 20.5 + random.uniform();
      plan.renderInto(expected, x, y, flux);
      fillNoisyFrame(frame, expected, { backgroundE: 15, readNoiseE: 2 }, random);
      const found = measure(frame);
      const without = plain(frame);
      if (!found.ok || !without.ok) throw new Error('not located');
      errors.push(found.x - x, found.y - y);
      plainErrors.push(without.x - x, without.y - y);
      chi.push(found.reducedChiSquare ?? 0);
    }
    const { scatter, scatterError, mean, meanError } = statisticsOf(errors);
    const star = expectedStar(ring, { side: 45, x: 22.2, y: 21.1, flux });
    const bound = positionBound(star, { readNoiseE: 2, backgroundE: 15 }).sigmaX;
    expectWithin(
      scatter / bound,
      1.02,
      0.02 + (3.5 * scatterError) / bound,
      'as documented; 3.5 standard errors',
    );
    expectWithin(mean, 0, 4 * meanError, 'no bias: 4 standard errors');
    // Without the noise model it is unweighted least squares against its own mirror image.
    expectWithin(statisticsOf(plainErrors).scatter / bound, 1.15, 0.12, 'as documented');
    expectWithin(
      statisticsOf(chi).mean,
      0.98,
      0.03,
      'the noise of square roots is 1 to 1 / mean; the minimum is fitted',
    );
  });

  test('a ring cut by the edge of the image, over a level that nobody took off', () => {
    const image = renderStar(ring, { ...wide, x: 8.3, y: 20.7, flux: 9000 });
    for (let k = 0; k < image.data.length; k++) image.data[k] += 30;
    const found = pointSymmetryCenter(image, { guess: { x: 8, y: 21 }, radiusPx: 16 });
    if (!found.ok) throw new Error(found.reason);
    expectWithin(found.x, 8.3, 0.13, 'documented: pairs at the edge come and go while the center is tried');
    expectWithin(found.y, 20.7, 0.02, 'symmetric');
  });

  test('a comet has no such center, and the chi-square tells', () => {
    const comet = renderStar(
      { kind: 'coma', sagittalComaPx: 4, angleDeg: 0, obstructionRatio: 0.35, blurFwhmPx: 2.5 },
      { ...wide, x: 22.3, y: 20.7, flux: 60_000 },
    );
    const found = pointSymmetryCenter(comet, { noise, guess: { x: 22, y: 21 }, radiusPx: 16 });
    expect(found.ok && (found.reducedChiSquare ?? 0) > 3).toBe(true);
    const round = pointSymmetryCenter(renderStar(ring, { ...wide, x: 22.3, y: 20.7, flux: 60_000 }), {
      noise,
      guess: { x: 22, y: 21 },
      radiusPx: 16,
    });
    expect(round.ok && (round.reducedChiSquare ?? 9) < 0.01).toBe(true);
  });
});

describe('faint stars', () => {
  const noise = { backgroundE: 12, readNoiseE: 2 };
  const measureMany = (
    shape: StarShape,
    radiusPx: number,
    snr: number,
    frames: number,
    middle = Math.ceil(radiusPx + 4),
  ) => {
    const size = { width: 2 * middle + 1, height: 2 * middle + 1 };
    const plan = prepareStar(shape, size);
    const expected = new Float64Array(size.width * size.height);
    const frame = new Float64Array(expected.length);
    plan.renderInto(expected, middle, middle, 1);
    const flux = fluxForSnr(expected, noise.backgroundE + noise.readNoiseE ** 2, snr);
    const measure = preparePointSymmetryCenter(size, {
      ...(radiusPx < Infinity ? { radiusPx } : {}),
      noise: { readNoiseE: noise.readNoiseE, backgroundE: noise.backgroundE },
    });
    const sums = { located: 0, errors: 0, stated: 0 };
    for (let i = 0; i < frames; i++) {
      const random = randomStream('faint symmetry', snr, i);
      const x = middle + random.uniform() - 0.5;
      const y = middle + random.uniform() - 0.5;
      plan.renderInto(expected, x, y, flux);
      fillNoisyFrame(frame, expected, noise, random);
      const found = measure(frame, { x: middle, y: middle });
      if (!found.ok) continue;
      sums.located++;
      sums.errors += (found.x - x) ** 2 + (found.y - y) ** 2;
      sums.stated += (found.sigmaX ?? 0) ** 2 + (found.sigmaY ?? 0) ** 2;
    }
    return { located: sums.located / frames, ratio: Math.sqrt(sums.stated / sums.errors) };
  };

  test('a small one in a wide window is not lost for the noise of the empty pixels', () => {
    // By the light of the whole window it was lost in 70 % of the frames.
    const { located } = measureMany({ kind: 'gaussian', fwhmPx: 1.2 }, 6, 7.9, 300);
    expect(located).toBeGreaterThan(0.96);
  });

  test('an empty frame holds no star', () => {
    const { located } = measureMany({ kind: 'gaussian', fwhmPx: 3 }, 8, 1e-3, 200);
    expect(located).toBeLessThan(0.03);
  });

  test('nor in a window of 21 px', () => {
    // By the sign of the light of the whole window and its share of pairs, 10 % of the frames were.
    const { located } = measureMany({ kind: 'gaussian', fwhmPx: 1.2 }, Infinity, 7.9, 300, 10);
    expect(located).toBeGreaterThan(0.95);
  });

  test('a ring of 24 px in a window of 17 px: pixels without a partner are in the stated error', () => {
    // Taken as dark partners, they made it 1.47 times the error.
    const shape: StarShape = {
      kind: 'annulus',
      outerDiameterPx: 24,
      obstructionRatio: 0.35,
      blurFwhmPx: 2.8,
    };
    const { located, ratio } = measureMany(shape, Infinity, 30, 300, 8);
    expect(located).toBeGreaterThan(0.99);
    expectWithin(ratio, 1.06, 0.18, 'the growth of the error is measured, not derived; 3 standard errors');
  });

  test('a ring at SNR 11: the stated error is that of the frames', () => {
    // From the first and second order of the slope alone it was 0.8 of it.
    const shape: StarShape = {
      kind: 'annulus',
      outerDiameterPx: 14,
      obstructionRatio: 0.4,
      blurFwhmPx: 2.8,
    };
    const { ratio } = measureMany(shape, 12, 11, 500);
    expectWithin(ratio, 1.05, 0.15, 'the growth of the error is measured, not derived; 3 standard errors');

    // Given up at a saddle of the differences, 7 % of the frames at SNR 10 were lost.
    expect(measureMany(shape, 12, 10, 500).located).toBeGreaterThan(0.945);
  });
});
