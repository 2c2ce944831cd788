/** The cross-correlation keeps the contract of all estimators; the running mean finds stars of any shape. */

import {
  type CrossCorrelationOptions,
  crossCorrelation,
  type EstimatorOptions,
  positionBound,
  prepareCrossCorrelation,
  prepareRunningTemplate,
} from '@holdfast/centroid';
import type { Image } from '@holdfast/psf';
import { createImage, prepareStar, randomStream, renderStar, type StarShape } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { expectedStar } from '../published/expected-star.ts';
import { describeEstimatorContract, type EstimatorFacts } from './estimator-contract.ts';
import { fillNoisyFrame, statisticsOf } from './noisy-frames.ts';

const size = { width: 31, height: 26 };
const gaussian = (fwhmPx: number): StarShape => ({ kind: 'gaussian', fwhmPx });
const star = (x: number, y: number, flux: number, fwhmPx = 3) =>
  renderStar(gaussian(fwhmPx), { ...size, x, y, flux });

const facts = (own: CrossCorrelationOptions): EstimatorFacts => ({
  measure: (image: Image, options?: EstimatorOptions) => crossCorrelation(image, { ...own, ...options }),
  prepare: (at, options) => prepareCrossCorrelation(at, { ...own, ...options }),
  // As for the template fit: symmetric star and template of other widths. Largest error found: 7e-5 px.
  accuracyPx: 2e-4,
  // It ends when a step is below 1e-4 px, the next of which would be a hundredth of that.
  repeatPx: 1e-5,
  onConstant: ({ x, y }) => ({ x, y }),
  onEqualPixels: 'no-flux',
  failures: {
    'too-few-pixels': [star(13, 12, 900), { guess: { x: 13, y: 12 }, radiusPx: 0.9 }],
    saturated: [star(13, 12, 5000), { saturationE: 300 }],
    'no-flux': [createImage(31, 26), {}],
    'too-faint': [star(13, 12, 40), { guess: { x: 13, y: 12 }, noise: { readNoiseE: 5 } }],
    'not-converged': [star(13.2, 12.3, 900), { maxIterations: 1 } as EstimatorOptions],
    clipped: [star(0.1, 0.1, 3000), { guess: { x: 0.5, y: 0.5 } }],
    outside: [star(-1.2, 12, 3000), { guess: { x: 0.5, y: 12 } }],
  },
  refused: [
    ['searchPx', { searchPx: -1 }],
    ['template', { template: undefined }],
    ['family', { template: { templateAt: () => star(1, 1, 1), from: 0, to: 1, step: 1 } }],
  ],
});

describeEstimatorContract('cross-correlation', facts({ template: prepareStar(gaussian(3.3), size) }));

describe('cross-correlation', () => {
  test('the peak of the normalized correlation: no small move raises it', () => {
    const template = prepareStar(gaussian(3.3), size);
    const image = star(13.4, 11.8, 3000);
    fillNoisyFrame(image.data, image.data.slice(), { backgroundE: 30, readNoiseE: 4 }, randomStream('peak'));
    const found = crossCorrelation(image, { template, tolerancePx: 1e-6 });
    if (!found.ok) throw new Error(found.reason);
    const mean = (values: Float64Array) => values.reduce((sum, v) => sum + v, 0) / values.length;
    const correlation = (x: number, y: number) => {
      const t = new Float64Array(size.width * size.height);
      template.renderInto(t, x, y, 1);
      const m = mean(t);
      let product = 0;
      let squares = 0;
      for (let k = 0; k < t.length; k++) {
        product += image.data[k] * (t[k] - m);
        squares += (t[k] - m) ** 2;
      }
      return product / Math.sqrt(squares);
    };
    const best = correlation(found.x, found.y);
    for (const [dx, dy] of [
      [1e-3, 0],
      [-1e-3, 0],
      [0, 1e-3],
      [0, -1e-3],
    ])
      expect(correlation(found.x + dx, found.y + dy)).toBeLessThan(best);
  });

  test('predicted error of a template that is too narrow: what the residuals add to the curvature is needed', () => {
    const template = prepareStar(gaussian(2.4), size);
    const noise = { readNoiseE: 3, backgroundE: 20 };
    const measure = prepareCrossCorrelation(size, { template, noise, guess: { x: 14, y: 12 } });
    const plan = prepareStar(gaussian(4.2), size);
    const expected = new Float64Array(size.width * size.height);
    const frame = new Float64Array(expected.length);
    const errors: number[] = [];
    const sigmas: number[] = [];
    for (let i = 0; i < 1500; i++) {
      const random = randomStream('narrow', i);
      const x = 13.5 + random.uniform();
      plan.renderInto(expected, x, 12, 6000);
      fillNoisyFrame(frame, expected, { backgroundE: 20, readNoiseE: 3 }, random);
      const found = measure(frame);
      if (!found.ok) throw new Error(found.reason);
      errors.push(found.x - x);
      sigmas.push(found.sigmaX ?? 0);
    }
    const { scatter, scatterError } = statisticsOf(errors);
    expectWithin(
      statisticsOf(sigmas).mean / scatter,
      1,
      0.03 + (3.5 * scatterError) / scatter,
      'first order; 3.5 standard errors',
    );
  });
});

describe('running template', () => {
  const wide = { width: 33, height: 31 };
  const comet: StarShape = {
    kind: 'coma',
    sagittalComaPx: 2.5,
    angleDeg: 30,
    obstructionRatio: 0.35,
    blurFwhmPx: 2.8,
  };
  const backgroundE = 15;
  const readNoiseE = 2;

  /** Measured minus true x of a star that moves about, image after image. */
  function follow(shape: StarShape, flux: number, images: number, memory: number, withNoise: boolean) {
    const running = prepareRunningTemplate(wide, {
      radiusPx: 12,
      memory,
      guess: { x: 16, y: 15 },
      ...(withNoise ? { noise: { readNoiseE, backgroundE: backgroundE } } : {}),
    });
    const plan = prepareStar(shape, wide);
    const image = createImage(wide.width, wide.height);
    const expected = new Float64Array(image.data.length);
    const errors: number[] = [];
    const sigmas: number[] = [];
    for (let i = 0; i < images; i++) {
      const random = randomStream('running', shape.kind, flux, i);
      const x = 16 + 1.6 * (random.uniform() - 0.5);
      const y = 15 + 1.6 * (random.uniform() - 0.5);
      plan.renderInto(expected, x, y, flux);
      fillNoisyFrame(image.data, expected, { backgroundE, readNoiseE }, random);
      const found = running.measure(image);
      if (!found.ok) throw new Error(found.reason);
      errors.push(found.x - x);
      sigmas.push(found.sigmaX ?? 0);
    }
    return { errors, sigmas, running };
  }

  test('a comet, whose center nobody knows: relative positions near the bound, no pull of the pixels', () => {
    const flux = 20_000;
    const { errors, sigmas } = follow(comet, flux, 250, Infinity, true);
    const star = expectedStar(comet, { side: 33, x: 16, y: 16, flux });
    const bound = positionBound(star, { readNoiseE, backgroundE }).sigmaX;
    const late = statisticsOf(errors.slice(20));
    // The mean of n images adds 1 / n of the variance: 1 / 90 on average over images 20 to 250.
    expectWithin(
      late.scatter / bound,
      Math.sqrt(1 + Math.log(250 / 20) / 230),
      (3.5 * late.scatterError) / bound + 0.01,
      '3.5 standard errors; the template is made of the same camera pixels',
    );
    expectWithin(
      statisticsOf(sigmas.slice(20)).mean / late.scatter,
      1,
      0.02 + (3.5 * late.scatterError) / late.scatter,
      'first order',
    );
    // The common offset is where the first image put its center of symmetry; a comet has its light on one
    // side.
    expect(Math.abs(late.mean)).toBeLessThan(3);
  });

  test('without a noise model it is the peak of the correlation', () => {
    const { errors, sigmas } = follow(comet, 20_000, 60, Infinity, false);
    expect(sigmas.every((s) => s === 0)).toBe(true);
    expect(statisticsOf(errors.slice(10)).scatter).toBeLessThan(0.05);
  });

  test('a finite memory lets the center wander, an infinite one holds it', () => {
    const wander = (memory: number) => {
      const { errors } = follow(gaussian(3), 700, 200, memory, true);
      const early = statisticsOf(errors.slice(20, 60)).mean;
      return errors.slice(60).reduce((most, e) => Math.max(most, Math.abs(e - early)), 0);
    };
    // Scatter of one position is some 0.075 px: 140 of them reach about 3 times that by themselves.
    expect(wander(Infinity)).toBeLessThan(0.3);
    expect(wander(2)).toBeGreaterThan(0.4);
  });

  test('the mean star is the star, centered', () => {
    const { running } = follow(gaussian(3), 20_000, 40, Infinity, true);
    const template = running.template();
    if (template === undefined) throw new Error('no star');
    const side = template.image.shape[0];
    const mean = renderStar(gaussian(3), {
      width: side,
      height: side,
      x: template.x,
      y: template.y,
      flux: 20_000,
    });
    for (let k = 0; k < mean.data.length; k++)
      expectWithin(
        template.image.data[k],
        mean.data[k],
        5 * Math.sqrt((mean.data[k] + backgroundE + 4) / 40) + 0.003 * 2000,
        '5 sigma of 40 images, and its place to a few thousandths',
      );
  });

  test('a star that is lost is told, and does not spoil the mean', () => {
    const running = prepareRunningTemplate(wide, { radiusPx: 12, noise: { readNoiseE: 2 } });
    expect(running.measure(createImage(33, 31))).toEqual({ ok: false, reason: 'no-flux' });
    expect(running.template()).toBeUndefined();
    const plan = prepareStar(gaussian(3), wide);
    const image = createImage(33, 31);
    plan.renderInto(image, 16.2, 15.1, 5000);
    for (let i = 0; i < 3; i++) expect(running.measure(image, { x: 16, y: 15 }).ok).toBe(true);
    const before = running.template();
    expect(running.measure(createImage(33, 31))).toEqual({ ok: false, reason: 'no-flux' });
    expect(running.template()).toEqual(before);
  });

  test('masked pixels, whatever they hold, hardly pull', () => {
    const valid = new Uint8Array(wide.width * wide.height).fill(1);
    for (let y = 12; y < 19; y++) valid[y * wide.width + 18] = 0;
    const running = prepareRunningTemplate(wide, { radiusPx: 12, valid, noise: { readNoiseE: 2 } });
    const plan = prepareStar(gaussian(3), wide);
    const image = createImage(33, 31);
    const errors: number[] = [];
    for (let i = 0; i < 40; i++) {
      const x = 15.4 + 0.031 * i;
      plan.renderInto(image, x, 15.1, 5000);
      for (let y = 12; y < 19; y++) image.set(y, 18, 1e6);
      const found = running.measure(image, { x: 16, y: 15 });
      if (!found.ok) throw new Error(found.reason);
      errors.push(found.x - x);
    }
    // The first image is placed by its symmetry, which the masked column pulls by 0.1 px: the offset of all
    // that follow, until the star has moved on and shows what was masked.
    for (const error of errors) expectWithin(error, 0.05, 0.06, 'common offset');
  });

  test('refuses what makes no sense', () => {
    expect(() => prepareRunningTemplate(wide, { radiusPx: 0 })).toThrow('radiusPx');
    expect(() => prepareRunningTemplate(wide, { radiusPx: 9, memory: 0.5 })).toThrow('memory');
  });
});
