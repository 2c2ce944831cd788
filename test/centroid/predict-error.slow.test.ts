/** What is predicted of every estimator without a frame, against what it does on many. */
import {
  type PredictFitErrorOptions,
  type PreparedEstimator,
  predictError,
  prepareCrossCorrelation,
  prepareGaussianFit,
  preparePointSymmetryCenter,
  prepareQuadCell,
  prepareTemplateFit,
  prepareWeightedCenterOfMass,
} from '@holdfast/centroid';
import { createImage, prepareStar, randomStream, renderStar, type StarShape } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { fillNoisyFrame, statisticsOf } from './noisy-frames.ts';

const size = { width: 33, height: 29 };
const at = { x: 16.3, y: 13.8 };
const noise = { readNoiseE: 3, backgroundE: 20 };
const own = { noise: { readNoiseE: 3, backgroundE: 20 }, guess: at };

const gaussian: StarShape = { kind: 'gaussian', fwhmPx: 3.4 };
const ring: StarShape = { kind: 'annulus', outerDiameterPx: 12, obstructionRatio: 0.4, blurFwhmPx: 2.8 };

const radiusPx = 11.3;
/** A predicted error 10 % off the scatter is noticed. */
const frames = 1000;

/** The same frames for all estimators. */
const drawn = new Map<string, Float64Array[]>();
function framesOf(name: string, expected: Float64Array): Float64Array[] {
  let list = drawn.get(name);
  if (list === undefined) {
    list = Array.from({ length: frames }, (_, i) => {
      const frame = new Float64Array(expected.length);
      fillNoisyFrame(frame, expected, noise, randomStream('expected error', name, i));
      return frame;
    });
    drawn.set(name, list);
  }
  return list;
}

const cases: [string, PreparedEstimator, PredictFitErrorOptions, StarShape, number][] = [
  ...(
    [
      [gaussian, 4000],
      [ring, 20000],
    ] as const
  ).flatMap(([shape, flux]): [string, PreparedEstimator, PredictFitErrorOptions, StarShape, number][] => {
    const template = prepareStar(shape, size);
    const weightFwhmPx = shape === ring ? 11 : 3.4;
    return [
      [
        'weighted center of mass',
        prepareWeightedCenterOfMass(size, { ...own, weightFwhmPx }),
        { estimator: 'weightedCenterOfMass', weightFwhmPx, at, noise },
        shape,
        flux,
      ],
      [
        'Gaussian fit',
        prepareGaussianFit(size, { ...own, weighting: 'likelihood', fitBackground: false, radiusPx }),
        { estimator: 'gaussianFit', weighting: 'likelihood', fitBackground: false, radiusPx, at, noise },
        shape,
        flux,
      ],
      [
        'cross-correlation',
        prepareCrossCorrelation(size, { ...own, template }),
        { estimator: 'crossCorrelation', template, at, noise },
        shape,
        flux,
      ],
      [
        'template fit',
        prepareTemplateFit(size, { ...own, template }),
        { estimator: 'templateFit', template, at, noise },
        shape,
        flux,
      ],
      [
        'center of symmetry',
        preparePointSymmetryCenter(size, { ...own, radiusPx }),
        { estimator: 'pointSymmetryCenter', radiusPx, at, noise },
        shape,
        flux,
      ],
    ];
  }),
  [
    'quad cell, one reading',
    prepareQuadCell(size, { ...own, fwhmPx: 3.4, radiusPx: 6 }),
    { estimator: 'quadCell', fwhmPx: 3.4, radiusPx: 6, at, noise },
    gaussian,
    4000,
  ],
];

describe('bias, scatter and the error that the estimator itself tells', () => {
  for (const [name, measure, options, shape, flux] of cases)
    test(`${name}, ${shape.kind}`, () => {
      const expected = renderStar(shape, { ...size, ...at, flux });
      const predicted = predictError(expected, options);
      if (!predicted.ok) throw new Error(predicted.reason);
      const xs: number[] = [];
      const ys: number[] = [];
      const sigmas: number[] = [];
      const snrs: number[] = [];
      const fluxes: number[] = [];
      for (const frame of framesOf(`${shape.kind}`, expected.data)) {
        const found = measure(frame);
        if (!found.ok) throw new Error(found.reason);
        xs.push(found.x - at.x);
        ys.push(found.y - at.y);
        sigmas.push(found.sigmaX ?? 0);
        snrs.push(found.snr ?? 0);
        fluxes.push(found.flux);
      }
      const x = statisticsOf(xs);
      const y = statisticsOf(ys);
      const error = 3.5 / Math.sqrt(2 * frames);
      const order = 0.02;
      const why = 'first-order theory at this SNR; 3.5 standard errors of the scatter';
      expectWithin(predicted.sigmaX / x.scatter, 1, order + error, why);
      expectWithin(predicted.sigmaY / y.scatter, 1, order + error, why);
      expectWithin(statisticsOf(sigmas).mean / x.scatter, 1, order + error, why);
      expectWithin(x.mean, predicted.biasX, 4 * x.meanError, '4 standard errors of the mean');
      expectWithin(y.mean, predicted.biasY, 4 * y.meanError, '4 standard errors of the mean');
      const of = statisticsOf(fluxes);
      expectWithin(predicted.snr / (of.mean / of.scatter), 1, 0.03 + error, 'flux over its scatter');
      expectWithin(statisticsOf(snrs).mean / predicted.snr, 1, 0.02, 'the same, from noisy pixels');
    });
});

describe('the second order of the center of symmetry', () => {
  test('a faint ring: noise of both pixels of a pair is most of the error, and is predicted', () => {
    const expected = renderStar(ring, { ...size, ...at, flux: 3500 });
    const predicted = predictError(expected, { estimator: 'pointSymmetryCenter', radiusPx, at, noise });
    if (!predicted.ok) throw new Error(predicted.reason);
    const measure = preparePointSymmetryCenter(size, { ...own, radiusPx });
    const xs: number[] = [];
    const sigmas: number[] = [];
    const frame = createImage(size.width, size.height);
    for (let i = 0; i < frames; i++) {
      fillNoisyFrame(frame.data, expected.data, noise, randomStream('faint ring', i));
      const found = measure(frame);
      if (!found.ok) continue;
      xs.push(found.x - at.x);
      sigmas.push(found.sigmaX ?? 0);
    }
    expect(xs.length).toBe(frames);
    const { scatter } = statisticsOf(xs);
    const error = 3.5 / Math.sqrt(2 * frames);
    expectWithin(predicted.sigmaX / scatter, 1, 0.05 + error, 'second order; 3.5 standard errors');
    expectWithin(statisticsOf(sigmas).mean / scatter, 1, 0.06 + error, 'second order, from noisy pixels');
  });
});

describe('what cannot be predicted', () => {
  const expected = renderStar(gaussian, { ...size, ...at, flux: 4000 });
  test('the failure of the estimator', () => {
    expect(
      predictError(createImage(33, 29), { estimator: 'weightedCenterOfMass', weightFwhmPx: 3, at, noise }),
    ).toEqual({ ok: false, reason: 'no-flux' });
  });
  test('bad calls', () => {
    const good = { estimator: 'weightedCenterOfMass', weightFwhmPx: 3, at, noise } as const;
    expect(() => predictError(expected, { ...good, weightFwhmPx: 0 })).toThrow(/weightFwhmPx/);
    expect(() => predictError(expected, { ...good, at: { x: Number.NaN, y: 1 } })).toThrow(/at.x/);
    expect(() => predictError(expected, { ...good, noise: { readNoiseE: -1 } })).toThrow(/noise.readNoiseE/);
    expect(() => predictError(expected, { ...good, noise: { readNoiseE: 1, backgroundE: -1 } })).toThrow(
      /noise.backgroundE/,
    );
  });
});
