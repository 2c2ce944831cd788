import {
  type EstimatorOptions,
  type GaussianFitOptions,
  gaussianFit,
  prepareGaussianFit,
} from '@holdfast/centroid';
import type { Image } from '@holdfast/psf';
import { createImage, randomStream, renderStar } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { describeEstimatorContract, type EstimatorFacts, threeTimes } from './estimator-contract.ts';
import { fillNoisyFrame } from './noisy-frames.ts';

const size = { width: 31, height: 26 };
const star = (x: number, y: number, flux: number, fwhmPx = 3) =>
  renderStar({ kind: 'gaussian', fwhmPx }, { ...size, x, y, flux });

const noise = { readNoiseE: 2 };

const needle = createImage(31, 26);
needle.set(12, 13, 500);

const facts = (own: GaussianFitOptions): EstimatorFacts => ({
  measure: (image: Image, options?: EstimatorOptions) => gaussianFit(image, { ...own, ...options }),
  prepare: (at, options) => prepareGaussianFit(at, { ...own, ...options }),
  // The model is the star. Near the end the steps shrink quadratically (5e-12 found), but for the damping
  // that is left when a weighted fit starts next to its end.
  accuracyPx: own.weighting === undefined ? 1e-9 : 1e-7,
  // It ends when a step is below 1e-6 of the width; flips and shifts take other roundings there.
  repeatPx: 2e-6,
  ...(own.noise ? { tripled: { noise: threeTimes(own.noise) } } : {}),
  onConstant: ({ x, y }) => ({ x, y }),
  onEqualPixels: 'no-flux',
  failures: {
    'too-few-pixels': [star(13, 12, 900), { guess: { x: 13, y: 12 }, radiusPx: 1 }],
    saturated: [star(13, 12, 5000), { saturationE: 300 }],
    'no-flux': [createImage(31, 26), {}],
    'too-faint': [star(13, 12, 40), { noise: { readNoiseE: 5 } }],
    'not-converged': [needle, {}],
    clipped: [star(0, 0, 3000), { guess: { x: 0.5, y: 0.5 } }],
    outside: [star(-1.2, 12, 3000), { guess: { x: 0.5, y: 12 } }],
  },
  refused: [
    ['weighting', { weighting: 'sharp' }],
    ['shape', { shape: 'round' }],
    ['fwhmPx', { fwhmPx: 0 }],
    ['fitBackground', { fitBackground: 1 }],
    ['maxIterations', { maxIterations: 0 }],
    ['tolerance', { tolerance: 0 }],
  ],
});

describeEstimatorContract('Gaussian fit', facts({}));
describeEstimatorContract('elliptical Gaussian fit', facts({ shape: 'elliptical' }));
describeEstimatorContract('rotated Gaussian fit', facts({ shape: 'rotated' }));
// Weights make the flux non-linear in scale only through the noise model, which is fixed in electrons.
for (const weighting of ['noise', 'likelihood'] as const) {
  const own = { weighting, noise: { readNoiseE: 3, backgroundE: 20 } } as const;
  const base = facts(own);
  describeEstimatorContract(`Gaussian fit, weighting ${weighting}`, {
    ...base,
    // A noise model is always there, so 'too-faint' comes before what an image without one would give.
    failures: {
      ...base.failures,
      'too-faint': [star(13, 12, 40), {}],
    },
    alwaysNoise: true,
  });
}

describe('rotated Gaussian fit', () => {
  const shape = { kind: 'gaussian', fwhmPx: 5, axisRatio: 0.6, angleDeg: 35 } as const;
  const draw = (x: number, y: number, flux: number) => renderStar(shape, { ...size, x, y, flux });

  test.each([-60, 20, 35, 90, 130])('finds place, axes and angle of a star at %d degrees', (angleDeg) => {
    const image = renderStar({ ...shape, angleDeg }, { ...size, x: 14.3, y: 12.1, flux: 4000 });
    const found = gaussianFit(image, { shape: 'rotated' });
    if (!found.ok) throw new Error(found.reason);
    const why = 'the tilt within a row of pixels is left out';
    expectWithin(found.x, 14.3, 1e-5, why);
    expectWithin(found.y, 12.1, 1e-5, why);
    expectWithin(found.fwhmPx, 5 * Math.sqrt(0.6), 0.04, why);
    const { x, y } = found.longAxisPx!;
    expectWithin(Math.sqrt(x * x + y * y), 5, 0.06, why);
    const foundDeg = (180 / Math.PI) * Math.atan2(y, x);
    expectWithin(((foundDeg - angleDeg + 270) % 180) - 90, 0, 1, why);
  });

  test.each(['none', 'noise', 'likelihood'] as const)('errors are as stated, weighting %s', (weighting) => {
    const noiseModel = { readNoiseE: 2, backgroundE: 20 };
    const fit = prepareGaussianFit(size, { shape: 'rotated', weighting, noise: noiseModel });
    const frame = createImage(size.width, size.height);
    let [x2, y2, xy] = [0, 0, 0];
    const trials = 400;
    for (let i = 0; i < trials; i++) {
      const random = randomStream('rotated', i);
      const [x, y] = [15 + random.uniform() - 0.5, 13 + random.uniform() - 0.5];
      fillNoisyFrame(frame.data, draw(x, y, 3000).data, noiseModel, random);
      const found = fit(frame);
      if (!found.ok) throw new Error(found.reason);
      const { unknowns, values } = found.covariance!;
      const rho = values[1]! / (found.sigmaX! * found.sigmaY!);
      expect(unknowns).toContain('shear');
      const u = (found.x - x) / found.sigmaX!;
      const v = (found.y - y) / found.sigmaY!;
      x2 += (u * u) / trials;
      y2 += (v * v) / trials;
      xy += (u * v - rho) / trials;
    }
    // 4 sigmas of a mean square of 400, and of a mean product
    for (const mean of [x2 - 1, y2 - 1, xy]) expect(Math.abs(mean)).toBeLessThan(4 * Math.sqrt(2 / trials));
  });
});

describe('Gaussian fit', () => {
  test('finds width, flux and background of an elliptical star along the axes', () => {
    const image = renderStar(
      { kind: 'gaussian', fwhmPx: 5, axisRatio: 0.6, angleDeg: 90 },
      { ...size, x: 14.3, y: 12.1, flux: 4000 },
    );
    for (let k = 0; k < image.data.length; k++) image.data[k] += 7;
    const found = gaussianFit(image, { shape: 'elliptical', background: 3 });
    if (!found.ok) throw new Error(found.reason);
    const why = 'the model is the star';
    expectWithin(found.x, 14.3, 1e-7, why);
    expectWithin(found.y, 12.1, 1e-7, why);
    expectWithin(found.fwhmXPx, 3, 1e-6, why);
    expectWithin(found.fwhmYPx, 5, 1e-6, why);
    expectWithin(found.fwhmPx, Math.sqrt(15), 1e-6, 'geometric mean');
    expectWithin(found.flux, 4000, 1e-2, why);
    expectWithin(found.backgroundE, 7, 1e-5, 'what was given and what was fitted on top');
  });

  test('a star narrower than a pixel is fitted without bias, as the model is integrated over the pixel', () => {
    for (const x of [14, 14.25, 14.5]) {
      const found = gaussianFit(star(x, 12.1, 4000, 0.9));
      if (!found.ok) throw new Error(found.reason);
      expectWithin(found.x, x, 1e-6, 'the model is the star');
      expectWithin(found.fwhmPx, 0.9, 1e-5, 'the model is the star');
    }
  });

  test('a width that is known stays', () => {
    const image = star(13.2, 12.4, 2000, 3);
    const found = gaussianFit(image, { fwhmPx: 4, noise });
    if (!found.ok) throw new Error(found.reason);
    expectWithin(found.fwhmPx, 4, 1e-14, 'held');
    expectWithin(found.x, 13.2, 1e-3, 'symmetric, but for the place in the pixel');
    expect(found.covariance?.unknowns).toEqual(['x', 'y', 'flux', 'backgroundE']);
  });

  test('covariance: errors on its diagonal, flux and background pull against each other', () => {
    const found = gaussianFit(star(13.2, 12.4, 2000), { noise });
    if (!found.ok || found.covariance === undefined) throw new Error('not located');
    const { unknowns, values } = found.covariance;
    expect(unknowns).toEqual(['x', 'y', 'fwhmPx', 'flux', 'backgroundE']);
    const at = (a: string, b: string) => values[unknowns.indexOf(a as 'x') * 5 + unknowns.indexOf(b as 'x')];
    expectWithin(Math.sqrt(at('x', 'x')), found.sigmaX ?? 0, 1e-12, 'the same number');
    expectWithin(found.flux / Math.sqrt(at('flux', 'flux')), found.snr ?? 0, 1e-9, 'the same number');
    expectWithin(at('x', 'flux') / at('flux', 'x'), 1, 1e-6, 'symmetric');
    expect(at('flux', 'backgroundE')).toBeLessThan(0);
    expect(at('fwhmPx', 'fwhmPx')).toBeGreaterThan(0);
  });

  test('the iteration limit is kept', () => {
    const image = star(13.2, 12.4, 2000);
    expect(gaussianFit(image, { maxIterations: 2 })).toEqual({ ok: false, reason: 'not-converged' });
    const found = gaussianFit(image, { maxIterations: 12 });
    expect(found.ok && found.iterations <= 12).toBe(true);
  });

  test('a ring is met in its middle by every weighting', () => {
    const ring = renderStar(
      { kind: 'annulus', outerDiameterPx: 12, obstructionRatio: 0.4, blurFwhmPx: 2.5 },
      { ...size, x: 14.3, y: 12.1, flux: 20000 },
    );
    for (const weighting of ['none', 'noise', 'likelihood'] as const) {
      const found = gaussianFit(ring, { weighting, noise, fitBackground: false });
      if (!found.ok) throw new Error(found.reason);
      expectWithin(found.x, 14.3, 2e-3, 'symmetric, but for the place in the pixel and the window');
      expectWithin(found.y, 12.1, 2e-3, 'symmetric, but for the place in the pixel and the window');
    }
  });

  test('a wide ring with a free background ends at the limit of the width; with a known one it is met', () => {
    const wide = { width: 41, height: 41 };
    const ring = renderStar(
      { kind: 'annulus', outerDiameterPx: 24, obstructionRatio: 0.35, blurFwhmPx: 2.8 },
      { ...wide, x: 20.3, y: 19.8, flux: 20000 },
    );
    const options = { guess: { x: 20, y: 20 }, radiusPx: 18 };
    expect(gaussianFit(ring, options)).toEqual({ ok: false, reason: 'not-converged' });
    const found = gaussianFit(ring, { ...options, fitBackground: false });
    if (!found.ok) throw new Error(found.reason);
    expectWithin(found.x, 20.3, 5e-3, 'the window settles within 0.01 px, and is made of whole pixels');
    expectWithin(found.y, 19.8, 5e-3, 'the window settles within 0.01 px, and is made of whole pixels');
    // A window left on its guess pulls the wide Gaussian along.
    const left = gaussianFit(ring, { ...options, fitBackground: false, recenter: 0 });
    if (!left.ok) throw new Error(left.reason);
    expect(left.x - 20.3).toBeGreaterThan(0.02);
  });

  test('weights need a noise model', () => {
    expect(() => gaussianFit(star(13, 12, 900), { weighting: 'noise' })).toThrow(/needs noise/);
    expect(() => gaussianFit(star(13, 12, 900), { weighting: 'likelihood' })).toThrow(/needs noise/);
  });

  test('the least of the sum of squares is met: no small move of any unknown lowers it', () => {
    const image = star(13.4, 11.8, 3000);
    fillNoisyFrame(image.data, image.data.slice(), { backgroundE: 30, readNoiseE: 4 }, randomStream('least'));
    const found = gaussianFit(image);
    if (!found.ok) throw new Error(found.reason);
    const { x, y, fwhmPx, flux, backgroundE } = found;
    const squares = (at: { x: number; y: number; fwhmPx: number; flux: number; backgroundE: number }) => {
      const { fwhmPx, backgroundE, ...place } = at;
      const model = renderStar({ kind: 'gaussian', fwhmPx }, { ...size, ...place });
      let sum = 0;
      for (let k = 0; k < image.data.length; k++) sum += (image.data[k] - model.data[k] - backgroundE) ** 2;
      return sum;
    };
    const best = { x, y, fwhmPx, flux, backgroundE };
    const least = squares(best);
    for (const [key, step] of [
      ['x', 1e-3],
      ['y', 1e-3],
      ['fwhmPx', 1e-3],
      ['flux', 1],
      ['backgroundE', 0.01],
    ] as const)
      for (const sign of [-1, 1])
        expect(squares({ ...best, [key]: best[key] + sign * step })).toBeGreaterThan(least);
  });
});
