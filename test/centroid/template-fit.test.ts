/** The template fit keeps the contract of all estimators, and does what its own text says. */

import {
  type EstimatorOptions,
  positionBound,
  prepareTemplateFit,
  type StarTemplate,
  type TemplateFitOptions,
  templateFit,
} from '@holdfast/centroid';
import type { Image } from '@holdfast/psf';
import { createImage, prepareStar, randomStream, renderStar, type StarShape } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { expectedStar } from '../published/expected-star.ts';
import { describeEstimatorContract, type EstimatorFacts, threeTimes } from './estimator-contract.ts';
import { fillNoisyFrame, statisticsOf } from './noisy-frames.ts';

const size = { width: 31, height: 26 };
const gaussian = (fwhmPx: number): StarShape => ({ kind: 'gaussian', fwhmPx });
const star = (x: number, y: number, flux: number, fwhmPx = 3) =>
  renderStar(gaussian(fwhmPx), { ...size, x, y, flux });
const noise = { readNoiseE: 3, backgroundE: 20 };

const facts = (own: TemplateFitOptions, repeatPx: number): EstimatorFacts => ({
  measure: (image: Image, options?: EstimatorOptions) => templateFit(image, { ...own, ...options }),
  prepare: (at, options) => prepareTemplateFit(at, { ...own, ...options }),
  // The template of FWHM 3.3 px meets stars of 2.5 to 5 px: symmetric, so only the place in the pixel
  // remains, largest where the star is narrower. Largest error found: 6e-4 px.
  accuracyPx: 1e-3,
  repeatPx,
  tripled: { noise: threeTimes(noise) },
  onConstant: ({ x, y }) => ({ x, y }),
  onEqualPixels: 'no-flux',
  failures: {
    'too-few-pixels': [star(13, 12, 900), { guess: { x: 13, y: 12 }, radiusPx: 0.9 }],
    saturated: [star(13, 12, 5000), { saturationE: 300 }],
    'no-flux': [createImage(31, 26), {}],
    'too-faint': [star(13, 12, 40), { guess: { x: 13, y: 12 } }],
    'not-converged': [star(13.2, 12.3, 900), { maxIterations: 1 } as EstimatorOptions],
    clipped: [star(0.1, 0.1, 3000), { guess: { x: 0.5, y: 0.5 } }],
    outside: [star(-1.2, 12, 3000), { guess: { x: 0.5, y: 12 } }],
  },
  alwaysNoise: true,
  refused: [
    ['searchPx', { searchPx: -1 }],
    ['fitBackground', { fitBackground: 1 }],
    ['maxIterations', { maxIterations: 0 }],
    ['tolerancePx', { tolerancePx: 0 }],
    ['needs noise', { noise: undefined }],
    ['template', { template: 3 }],
    ['template', { template: null }],
    ['template.width', { template: { width: 0, height: 4, renderInto() {} } }],
    ['template must hold light', { template: { width: 4, height: 4, renderInto() {} } }],
    ['template.x', { template: { image: star(13, 12, 1), x: Number.NaN, y: 1 } }],
    ['template.oversampling', { template: { image: star(13, 12, 1), x: 13, y: 12, oversampling: 1.5 } }],
    ['template.image', { template: { image: createImage(3, 3), x: 1, y: 1 } }],
    ['template.to', { template: { templateAt: () => 1, from: 2, to: 1, step: 1 } }],
    ['template.step', { template: { templateAt: () => 1, from: 2, to: 3, step: 0 } }],
  ],
});

// It ends when a step is below 1e-4 px, the next of which would be a hundredth of that.
describeEstimatorContract(
  'template fit, plan',
  facts({ template: prepareStar(gaussian(3.3), size), noise }, 1e-5),
);
// The image shows its star at one place among the pixels only, and not its mirror image.
describeEstimatorContract(
  'template fit, image',
  facts({ template: { image: star(15.4, 12.7, 20, 3.3), x: 15.4, y: 12.7 }, noise }, 3e-5),
);

describe('template fit', () => {
  const wide = { width: 37, height: 33 };
  const ring = (outerDiameterPx: number): StarShape => ({
    kind: 'annulus',
    outerDiameterPx,
    obstructionRatio: 0.35,
    blurFwhmPx: 2.5,
  });

  test('a noiseless ring is met at any place in a pixel, with its flux and background', () => {
    const plan = prepareStar(ring(16), wide);
    const measure = prepareTemplateFit(wide, { template: plan, noise });
    const image = createImage(wide.width, wide.height);
    for (let i = 0; i < 20; i++) {
      const at = { x: 17 + 0.11 * i, y: 16.3 - 0.07 * i };
      plan.renderInto(image, at.x, at.y, 8000);
      for (let k = 0; k < image.data.length; k++) image.data[k] += 4;
      const found = measure(image, { x: 18, y: 15.5 }, 1);
      if (!found.ok) throw new Error(found.reason);
      expectWithin(found.x, at.x, 2e-6, 'the end of the iteration, and the spline');
      expectWithin(found.y, at.y, 2e-6, 'the end of the iteration, and the spline');
      expectWithin(found.flux, 8000, 0.05, 'the star is the template');
      expectWithin(found.backgroundE, 4, 1e-3, 'what was given and what was fitted on top');
      expectWithin(found.reducedChiSquare ?? 1, 0, 1e-6, 'no noise');
    }
  });

  test('the most likely place: no small move, drawn anew, is likelier', () => {
    const image = renderStar(ring(16), { ...wide, x: 17.3, y: 16.4, flux: 9000 });
    const drawn = image.data.slice();
    fillNoisyFrame(image.data, drawn, { backgroundE: 20, readNoiseE: 3 }, randomStream('likely'));
    const plan = prepareStar(ring(16), wide);
    const found = templateFit(image, { template: plan, noise, tolerancePx: 1e-6 });
    if (!found.ok) throw new Error(found.reason);
    const best = { x: found.x, y: found.y, flux: found.flux, backgroundE: found.backgroundE };
    const likelihood = (at: typeof best) => {
      plan.renderInto(drawn, at.x, at.y, at.flux);
      let sum = 0;
      for (let k = 0; k < drawn.length; k++) {
        const expected = drawn[k] + at.backgroundE + 20 + 9;
        sum += Math.max(0, image.data[k] + 20 + 9) * Math.log(expected) - expected;
      }
      return sum;
    };
    const most = likelihood(best);
    for (const [key, step] of [
      ['x', 5e-3],
      ['y', 5e-3],
      ['flux', 5],
      ['backgroundE', 0.02],
    ] as const)
      for (const sign of [-1, 1])
        expect(likelihood({ ...best, [key]: best[key] + sign * step })).toBeLessThan(most);
  });

  test('images of the star serve as well as a plan, at the pixels of the camera or finer ones', () => {
    const image = renderStar(ring(16), { ...wide, x: 17.3, y: 16.4, flux: 5000 });
    const finer = (n: number): StarTemplate => ({
      image: renderStar(
        { kind: 'annulus', outerDiameterPx: 16 * n, obstructionRatio: 0.35, blurFwhmPx: 2.5 * n },
        { width: 33 * n, height: 31 * n, x: 15.2 * n, y: 14.9 * n, flux: 3 },
      ),
      x: 15.2 * n,
      y: 14.9 * n,
      oversampling: n,
    });
    for (const [n, tolerance] of [
      [1, 3e-4],
      [2, 1e-5],
      [3, 1e-5],
      [5, 1e-5],
    ]) {
      const found = templateFit(image, { template: finer(n), noise });
      if (!found.ok) throw new Error(found.reason);
      expectWithin(found.x, 17.3, tolerance, `${n} template pixels per pixel`);
      expectWithin(found.y, 16.4, tolerance, `${n} template pixels per pixel`);
      expectWithin(found.flux, 5000, n === 1 ? 2 : 0.1, 'the sum of the template is the star');
    }
  });

  test('a family of rings: the diameter is fitted too', () => {
    const family = {
      templateAt: (diameter: number) => prepareStar(ring(diameter), wide),
      from: 10,
      to: 20,
      step: 0.8,
    };
    const measure = prepareTemplateFit(wide, { template: family, noise });
    for (const diameter of [10.7, 13.4, 15.9, 19.6]) {
      const image = renderStar(ring(diameter), { ...wide, x: 17.3, y: 16.4, flux: 9000 });
      const found = measure(image, { x: 18, y: 16 });
      if (!found.ok) throw new Error(found.reason);
      expectWithin(found.x, 17.3, 1e-4, 'cubics between the templates');
      expectWithin(found.y, 16.4, 1e-4, 'cubics between the templates');
      expectWithin(found.parameter ?? 0, diameter, 2e-3, 'cubics between the templates');
      expect(found.parameterSigma).toBeGreaterThan(0.01);
    }
    for (const diameter of [7, 24]) {
      const image = renderStar(ring(diameter), { ...wide, x: 17.3, y: 16.4, flux: 9000 });
      expect(measure(image, { x: 18, y: 16 })).toEqual({ ok: false, reason: 'not-converged' });
    }
  });

  test('the predicted error of a family: position as if the diameter were known, diameter by its scatter', () => {
    const diameter = 14;
    const flux = 6000;
    const templateAt = (d: number) => prepareStar(ring(d), wide);
    const own = { noise, guess: { x: 18, y: 16 } };
    const family = prepareTemplateFit(wide, {
      ...own,
      template: { templateAt, from: 11, to: 17, step: 0.8 },
    });
    const frame = createImage(wide.width, wide.height);
    const diameters: number[] = [];
    const xs: number[] = [];
    const chi: number[] = [];
    let sigma = 0;
    let sigmaX = 0;
    const frames = 500;
    const expected = renderStar(ring(diameter), { ...wide, x: 18.1, y: 15.8, flux }).data;
    for (let i = 0; i < frames; i++) {
      fillNoisyFrame(frame.data, expected, { backgroundE: 20, readNoiseE: 3 }, randomStream('family', i));
      const found = family(frame);
      if (!found.ok) throw new Error(found.reason);
      diameters.push(found.parameter ?? 0);
      xs.push(found.x);
      chi.push(found.reducedChiSquare ?? 0);
      sigma += (found.parameterSigma ?? 0) / frames;
      sigmaX += (found.sigmaX ?? 0) / frames;
    }
    const of = statisticsOf(diameters);
    const error = 3.5 / Math.sqrt(2 * frames);
    expectWithin(sigma / of.scatter, 1, error + 0.02, 'first order; 3.5 standard errors');
    expectWithin(of.mean, diameter, 4 * of.meanError + 1e-3, 'unbiased');
    expectWithin(sigmaX / statisticsOf(xs).scatter, 1, error + 0.02, 'first order; 3.5 standard errors');
    // Of 1221 pixels, each chi-square has a standard deviation of sqrt(2 / 1221)
    const { mean, scatter } = statisticsOf(chi);
    expectWithin(
      mean,
      1,
      (4 * Math.sqrt(2 / 1221)) / Math.sqrt(frames) + 2e-3,
      'the noise model is the noise',
    );
    expectWithin(scatter / Math.sqrt(2 / 1221), 1, 0.2, 'photon noise of 29 electrons is not quite normal');
  });

  test('a star that is not the template shows in the chi-square', () => {
    const image = renderStar(ring(12), { ...wide, x: 17.3, y: 16.4, flux: 60000 });
    const found = templateFit(image, { template: prepareStar(ring(16), wide), noise });
    if (!found.ok) throw new Error(found.reason);
    expect(found.reducedChiSquare).toBeGreaterThan(5);
    expectWithin(found.x, 17.3, 5e-3, 'both are symmetric');
  });

  test('a guess off by 2 px and a ring of faint light: the search finds the place that the steps would miss', () => {
    const plan = prepareStar(ring(16), wide);
    const image = renderStar(ring(16), { ...wide, x: 17.3, y: 16.4, flux: 9000 });
    for (const [dx, dy] of [
      [2, 0],
      [-2, 1],
      [1, 2],
    ]) {
      const found = templateFit(image, { template: plan, noise, guess: { x: 17.3 + dx, y: 16.4 + dy } });
      expect(found.ok && Math.abs(found.x - 17.3) < 1e-5 && Math.abs(found.y - 16.4) < 1e-5).toBe(true);
    }
    const anywhere = templateFit(image, { template: plan, noise });
    expect(anywhere.ok && Math.abs(anywhere.x - 17.3) < 1e-5).toBe(true);
  });

  test('a cut or masked ring is not pulled', () => {
    const plan = prepareStar(ring(16), wide);
    const image = renderStar(ring(16), { ...wide, x: 6.3, y: 16.4, flux: 9000 });
    const valid = new Uint8Array(wide.width * wide.height).fill(1);
    for (let y = 0; y < 14; y++) for (let x = 8; x < wide.width; x++) valid[y * wide.width + x] = 0;
    for (const options of [{}, { valid }, { guess: { x: 7, y: 15 }, radiusPx: 8 }]) {
      const found = templateFit(image, { template: plan, noise, ...options });
      if (!found.ok) throw new Error(found.reason);
      expectWithin(found.x, 6.3, 2e-5, 'the end of the iteration, and the spline');
      expectWithin(found.y, 16.4, 2e-5, 'the end of the iteration, and the spline');
    }
  });

  test('photons alone, no background and no read noise: the likelihood stays finite and the bound is met', () => {
    const flux = 1000;
    const plan = prepareStar(gaussian(2.8), size);
    const pure = { readNoiseE: 0 };
    const measure = prepareTemplateFit(size, { template: plan, noise: pure, guess: { x: 15, y: 12 } });
    const expected = new Float64Array(size.width * size.height);
    const frame = new Float64Array(expected.length);
    const errors: number[] = [];
    for (let i = 0; i < 1500; i++) {
      const random = randomStream('photons', i);
      const x = 14.5 + random.uniform();
      const y = 11.5 + random.uniform();
      plan.renderInto(expected, x, y, flux);
      fillNoisyFrame(frame, expected, {}, random);
      const found = measure(frame);
      if (!found.ok) throw new Error(found.reason);
      errors.push(found.x - x, found.y - y);
    }
    const { scatter, scatterError, mean, meanError } = statisticsOf(errors);
    const star = expectedStar(gaussian(2.8), { side: 31, x: 15.2, y: 15.1, flux });
    const bound = positionBound(star, pure).sigmaX;
    expectWithin(
      scatter / bound,
      1,
      (3.5 * scatterError) / bound + 5e-3,
      '3.5 standard errors, second order',
    );
    expectWithin(mean, 0, 4 * meanError, 'no bias: 4 standard errors');
  });
});
