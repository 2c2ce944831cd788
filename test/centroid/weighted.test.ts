/** The weighted center of mass keeps the contract of all estimators, and does what its own text says. */

import {
  type EstimatorOptions,
  prepareWeightedCenterOfMass,
  type WeightedOptions,
  weightedCenterOfMass,
} from '@holdfast/centroid';
import type { Image } from '@holdfast/psf';
import { createImage, renderStar } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { describeEstimatorContract, type EstimatorFacts } from './estimator-contract.ts';

const size = { width: 31, height: 26 };
const star = (x: number, y: number, flux: number, fwhmPx = 3) =>
  renderStar({ kind: 'gaussian', fwhmPx }, { ...size, x, y, flux });

const facts = (weightFwhmPx: number): EstimatorFacts => ({
  measure: (image: Image, options?: EstimatorOptions) =>
    weightedCenterOfMass(image, { weightFwhmPx, ...options } as WeightedOptions),
  prepare: (at, options) => prepareWeightedCenterOfMass(at, { weightFwhmPx, ...options }),
  // The product of star and weight is sampled: for a star of 2.5 px under a weight of 3 px that moves it by
  // less than 1e-5 px.
  accuracyPx: 2e-5,
  // It ends when a step is below 1e-4 px; the next would be the square of that.
  repeatPx: 1e-6,
  // The weight is symmetric, and 0 before the edge.
  onConstant: ({ x, y }) => ({ x, y }),
  onEqualPixels: 'no-flux',
  failures: {
    'too-few-pixels': [star(13, 12, 900), { guess: { x: 13.4, y: 12.4 }, radiusPx: 0.7 }],
    saturated: [star(13, 12, 5000), { saturationE: 300 }],
    'no-flux': [createImage(31, 26), {}],
    'too-faint': [star(13, 12, 40), { noise: { readNoiseE: 10 } }],
    'not-converged': [star(13.2, 12.3, 900), { maxIterations: 1 } as EstimatorOptions],
    clipped: [star(0.3, 12, 900), { guess: { x: 1, y: 12 } }],
    // Two electrons on the left, one and a half negative ones beside: they balance beyond the edge.
    outside: [createImage(5, 1, new Float64Array([2, -1.5, 0, 0, 0])), {}],
  },
  refused: [
    ['weightFwhmPx', { weightFwhmPx: 0 }],
    ['weightFwhmPx', { weightFwhmPx: 1.9 }],
    ['weightFwhmPx', { weightFwhmPx: undefined }],
    ['maxIterations', { maxIterations: 0.5 }],
    ['tolerancePx', { tolerancePx: -1 }],
  ],
});

describeEstimatorContract('weighted center of mass, weight 3 px', facts(3));
describeEstimatorContract('weighted center of mass, weight 4.5 px', facts(4.5));

describe('weighted center of mass', () => {
  const ring = renderStar(
    { kind: 'annulus', outerDiameterPx: 12, obstructionRatio: 0.35, blurFwhmPx: 2.5 },
    { ...size, x: 14.3, y: 12.6, flux: 4000 },
  );

  test('a ring is met in its middle under a weight as wide as itself', () => {
    for (const weightFwhmPx of [12, 16]) {
      const found = weightedCenterOfMass(ring, { weightFwhmPx });
      if (!found.ok) throw new Error(found.reason);
      const tail = weightFwhmPx === 12 ? 1e-3 : 1e-2;
      expectWithin(found.x, 14.3, tail, 'the window cuts off the blurred edge by a little more on one side');
      expectWithin(found.y, 12.6, tail, 'the window cuts off the blurred edge by a little more on one side');
    }
  });

  test('the middle of a ring is stable under a weight wider than the text says, and not under a narrower one', () => {
    const sharp = (obstructionRatio: number) =>
      renderStar(
        { kind: 'annulus', outerDiameterPx: 20, obstructionRatio, blurFwhmPx: 0.5 },
        { width: 37, height: 35, x: 17.2, y: 16.7, flux: 4000 },
      );
    for (const e of [0.35, 0.6, 0.9]) {
      const limit = 20 * Math.sqrt((Math.LN2 * (1 - e * e)) / (2 * Math.log(1 / e)));
      const guess = { x: 17.2, y: 16.7 };
      const wide = weightedCenterOfMass(sharp(e), { weightFwhmPx: 1.05 * limit, guess });
      if (!wide.ok) throw new Error(wide.reason);
      expectWithin(wide.x, 17.2, 2e-2, 'near the limit even the sampling of sharp edges pulls');
      const narrow = weightedCenterOfMass(sharp(e), { weightFwhmPx: 0.95 * limit, guess });
      const isThere = narrow.ok && Math.abs(narrow.x - 17.2) + Math.abs(narrow.y - 16.7) < 1;
      expect(isThere).toBe(false);
    }
  });

  test('the narrowest weight leans to the middle of a pixel by no more than its text says', () => {
    for (const [fwhmPx, allowedPx] of [
      [1.2, 0.04],
      [1.8, 0.009],
    ])
      for (let i = 0; i < 8; i++) {
        const x = 13.55 + i / 8;
        const found = weightedCenterOfMass(star(x, 12.2, 5000, fwhmPx), { weightFwhmPx: 2 });
        if (!found.ok) throw new Error(found.reason);
        expectWithin(found.x, x, allowedPx, 'computed');
      }
  });

  test('flux is that of a Gaussian star as wide as the weight', () => {
    // The pixel widens the star by 1/12 px^2: its light under the weight is w^2 / (2 w^2 + 1/12) of the
    // whole.
    const found = weightedCenterOfMass(star(14.2, 12.1, 5000, 3.5), { weightFwhmPx: 3.5 });
    if (!found.ok) throw new Error(found.reason);
    const w2 = 3.5 ** 2 / (8 * Math.LN2);
    expectWithin(
      found.flux,
      (5000 * 2 * w2) / (2 * w2 + 1 / 12),
      5,
      'a square pixel is not quite a Gaussian',
    );
  });

  test('a guess far from the star: uphill first, then Newton', () => {
    const found = weightedCenterOfMass(star(16.2, 14.1, 5000), { weightFwhmPx: 3, guess: { x: 12, y: 11 } });
    if (!found.ok) throw new Error(found.reason);
    expectWithin(found.x, 16.2, 1e-5, 'the sampling');
    expect(found.iterations).toBeLessThan(20);
  });
});
