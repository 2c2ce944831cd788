import {
  centerOfMass,
  type PredictErrorOptions,
  predictError,
  prepareCenterOfMass,
  prepareThresholdedCenterOfMass,
  thresholdedCenterOfMass,
} from '@holdfast/centroid';
import { createImage, randomStream, renderStar } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { expectWithin, expectWithinSigmas } from '../expect-within.ts';
import { fillNoisyFrame, statisticsOf } from './noisy-frames.ts';

const size = { width: 27, height: 23 };
const at = { x: 12.7, y: 11.2 };
const flux = 2500;
const expected = renderStar({ kind: 'gaussian', fwhmPx: 3.6 }, { ...size, ...at, flux });
const noise = { readNoiseE: 3, backgroundE: 25 };

const predict = (options: Omit<PredictErrorOptions, 'at' | 'noise'>) => {
  const predicted = predictError(expected, { at, noise, ...options });
  if (!predicted.ok) throw new Error(predicted.reason);
  return predicted;
};

describe('against the estimators on noisy frames', () => {
  const frames = 4000;
  const pixelNoise = { readNoiseE: noise.readNoiseE, backgroundE: noise.backgroundE };
  const drawn: Float64Array[] = [];
  const frameOf = (i: number): Float64Array => {
    if (drawn[i] === undefined) {
      drawn[i] = new Float64Array(size.width * size.height);
      fillNoisyFrame(drawn[i], expected.data, noise, randomStream('error propagation', i));
    }
    return drawn[i];
  };
  const cases: [string, Omit<PredictErrorOptions, 'at' | 'noise'>][] = [
    ['center of mass, window left', { estimator: 'centerOfMass', radiusPx: 7.2, recenter: 0 }],
    ['center of mass, window following', { estimator: 'centerOfMass', radiusPx: 6.4 }],
    ['center of mass, whole image', { estimator: 'centerOfMass' }],
    ['threshold, subtract', { estimator: 'thresholdedCenterOfMass', radiusPx: 7.2 }],
    [
      'threshold, keep',
      { estimator: 'thresholdedCenterOfMass', radiusPx: 7.2, form: 'keep', thresholdSigma: 2.5 },
    ],
    ['threshold in electrons', { estimator: 'thresholdedCenterOfMass', threshold: 35 }],
  ];
  for (const [name, options] of cases)
    test(name, () => {
      const { estimator, ...own } = options;
      const all = { ...own, noise: pixelNoise, guess: at };
      const measure =
        estimator === 'centerOfMass'
          ? prepareCenterOfMass(size, all)
          : prepareThresholdedCenterOfMass(size, all);
      const x: number[] = [];
      const y: number[] = [];
      for (let i = 0; i < frames; i++) {
        const found = measure(frameOf(i));
        if (!found.ok) throw new Error(found.reason);
        x.push(found.x - at.x);
        y.push(found.y - at.y);
      }
      const predicted = predict(options);
      for (const [errors, bias, sigma] of [
        [x, predicted.biasX, predicted.sigmaX],
        [y, predicted.biasY, predicted.sigmaY],
      ] as const) {
        const { mean, meanError, scatter, scatterError } = statisticsOf(errors);
        expectWithin(
          scatter / sigma,
          1,
          0.05 + (3.5 * scatterError) / scatter,
          'second order in noise over flux, and a window that moves by whole pixels; 3.5 standard errors',
        );
        expectWithinSigmas(mean, bias, meanError, 4);
      }
    });
});

describe('predicted error', () => {
  test('a window left on its guess follows the star by less than its motion', () => {
    const near = predict({ estimator: 'centerOfMass', guess: { x: 13, y: 11 }, radiusPx: 3, recenter: 0 });
    // Too far right on x, too far up on y: the light that is cut off lies on the other side.
    expect(near.biasX).toBeGreaterThan(0.05);
    expect(near.biasY).toBeLessThan(-0.03);
    const followed = predict({ estimator: 'centerOfMass', guess: { x: 13, y: 11 }, radiusPx: 8 });
    expectWithin(followed.biasX, 0, 0.01, 'all light lies in the window');
  });

  test('a star off the middle of a large window is pushed away from it by the noise of the sum', () => {
    const side = 41;
    const faint = renderStar(
      { kind: 'gaussian', fwhmPx: 3 },
      { width: side, height: side, x: 14, y: 20, flux: 2000 },
    );
    const predicted = predictError(faint, {
      estimator: 'centerOfMass',
      at: { x: 14, y: 20 },
      noise: { readNoiseE: 10 },
    });
    if (!predicted.ok) throw new Error(predicted.reason);
    // -sum(column - x) R^2 / flux^2 = -1681 * 6 * 100 / 4e6
    expectWithin(predicted.biasX, -(1681 * 6 * 100) / 4e6, 1e-4, 'the star itself is symmetric');
    expectWithin(predicted.biasY, 0, 1e-9, 'in the middle of the rows');
  });

  test('the error of the background level counts by the lever of the window', () => {
    const options = { estimator: 'centerOfMass', guess: { x: 14, y: 11 }, radiusPx: 6, recenter: 0 } as const;
    const sure = predict(options);
    const unsure = predict({ ...options, backgroundSigma: 2 });
    // 113 pixels lie within 6 px; the mean measured place is near the star, 1.3 px left of the window's
    // middle.
    const lever = (113 * (14 - (at.x + sure.biasX)) * 2) / flux;
    expectWithin(
      unsure.sigmaX ** 2 - sure.sigmaX ** 2,
      lever ** 2,
      0.02 * lever ** 2,
      'all but 1 % of the flux',
    );
  });

  test('nothing expected, nothing predicted', () => {
    const empty = createImage(9, 7);
    const options = { estimator: 'centerOfMass', at: { x: 4, y: 3 }, noise } as const;
    expect(predictError(empty, options)).toEqual({ ok: false, reason: 'no-flux' });
    expect(predictError(empty, { ...options, radiusPx: 0.5 })).toEqual({
      ok: false,
      reason: 'too-few-pixels',
    });
  });

  test('refuses bad calls', () => {
    const good = { estimator: 'centerOfMass', at, noise } as const;
    expect(() => predictError(expected, { ...good, estimator: 'guess' as 'centerOfMass' })).toThrow(
      /estimator/,
    );
    expect(() => predictError(expected, { ...good, at: { x: Number.NaN, y: 2 } })).toThrow(/at.x/);
    expect(() => predictError(expected, { ...good, noise: { readNoiseE: -1 } })).toThrow(/noise.readNoiseE/);
    expect(() => predictError(expected, { ...good, noise: { readNoiseE: 1, backgroundE: -1 } })).toThrow(
      /noise.backgroundE/,
    );
    expect(() => predictError(expected, { ...good, radiusPx: -1 })).toThrow(/radiusPx/);
  });
});

/** Chance of each count of photons, within 6 sigma. */
function poisson(mean: number): { from: number; chances: Float64Array } {
  const from = Math.floor(mean - 6 * Math.sqrt(mean));
  const chances = new Float64Array(Math.ceil(12 * Math.sqrt(mean)) + 1);
  // The logarithm of the first chance, then each from the one before it.
  let log = -mean;
  for (let k = 1; k <= from; k++) log += Math.log(mean / k);
  chances[0] = Math.exp(log);
  for (let i = 1; i < chances.length; i++) chances[i] = (chances[i - 1] * mean) / (from + i);
  return { from, chances };
}

describe('against the exact mean and scatter over all counts of three pixels', () => {
  const means = [1200, 200, 100];
  const backgroundE = 400;
  let [total, mean, square] = [0, 0, 0];
  const [a, b, c] = means.map((light) => poisson(light + backgroundE));
  for (const [i, first] of a.chances.entries())
    for (const [j, second] of b.chances.entries())
      for (const [k, third] of c.chances.entries()) {
        const [m, n] = [b.from + j - backgroundE, c.from + k - backgroundE];
        const place = (m + 2 * n) / (a.from + i - backgroundE + m + n);
        const chance = first * second * third;
        total += chance;
        mean += chance * place;
        square += chance * place * place;
      }
  const sigma = Math.sqrt(square - mean * mean);
  const pixels = new Float64Array(means);
  const photons = { estimator: 'centerOfMass', noise: { readNoiseE: 0, backgroundE } } as const;

  test('along x and along y', () => {
    expectWithin(total, 1, 1e-7, 'counts within 6 sigma');
    const lying = predictError(createImage(3, 1, pixels), { ...photons, at: { x: 0.8, y: 0 } });
    const standing = predictError(createImage(1, 3, pixels), { ...photons, at: { x: 0, y: 0.8 } });
    if (!lying.ok || !standing.ok) throw new Error('not predicted');
    expectWithin(lying.sigmaX / sigma, 1, 3e-5, 'fourth order: SNR^-4 with factors of some ten');
    expectWithin(lying.biasX, mean - 0.8, 1e-5, 'fourth order');
    expectWithin(lying.snr, 1500 / Math.sqrt(2700), 1e-12, 'photons alone');
    expect([standing.sigmaY, standing.biasY]).toEqual([lying.sigmaX, lying.biasX]);
    expect([lying.sigmaY, lying.biasY]).toEqual([0, 0]);
  });

  test('an uncertain background moves the position by its lever, along each axis', () => {
    const of = (columns: number, rows: number, backgroundSigma: number) => {
      const options = { ...photons, at: { x: 0, y: 0 }, backgroundSigma };
      const predicted = predictError(createImage(columns, rows, pixels), options);
      if (!predicted.ok) throw new Error(predicted.reason);
      return columns > 1 ? predicted.sigmaX : predicted.sigmaY;
    };
    // d(N / T) per electron in each pixel: (3 - 3 * 400 / 1500) / 1500.
    const lever = ((3 - (3 * 400) / 1500) / 1500) * 2;
    for (const [columns, rows] of [
      [3, 1],
      [1, 3],
    ] as const)
      expectWithin(
        (of(columns, rows, 2) ** 2 - of(columns, rows, 0) ** 2) / lever ** 2,
        1,
        1e-9,
        'added in squares',
      );
  });
});

describe('where the mean position goes is where the estimator finds the noiseless star', () => {
  const bright = renderStar({ kind: 'gaussian', fwhmPx: 3.6 }, { ...size, ...at, flux: 1e10 });
  const guess = { x: 11.4, y: 12.6 };
  const places = [0, 1, 2, 10].flatMap((recenter) => [
    { estimator: 'centerOfMass', radiusPx: 3.3, recenter } as const,
    { estimator: 'thresholdedCenterOfMass', radiusPx: 3.3, recenter, threshold: 2e8 } as const,
    { estimator: 'thresholdedCenterOfMass', radiusPx: 3.3, recenter, thresholdSigma: 9e7 } as const,
    { estimator: 'thresholdedCenterOfMass', radiusPx: 4.4, recenter, form: 'keep', threshold: 2e8 } as const,
  ]);
  test.each(places)('%o', ({ estimator, ...options }) => {
    const noise = { readNoiseE: 2 };
    const method = estimator === 'centerOfMass' ? centerOfMass : thresholdedCenterOfMass;
    const found = method(bright, { ...options, noise, guess });
    const predicted = predictError(bright, { estimator, ...options, noise, at, guess });
    if (!found.ok || !predicted.ok) throw new Error('no position');
    expectWithin(at.x + predicted.biasX, found.x, 1e-6, 'photons of 1e10 electrons');
    expectWithin(at.y + predicted.biasY, found.y, 1e-6, 'photons of 1e10 electrons');
  });
});

test('no figure where the estimator mostly fails, or the sum of the light is as large as its noise', () => {
  const faint = renderStar({ kind: 'gaussian', fwhmPx: 3.6 }, { ...size, ...at, flux: 150 });
  const options = { estimator: 'centerOfMass', at, noise: { readNoiseE: 3 } } as const;
  expect(predictError(faint, options)).toEqual({ ok: false, reason: 'often-lost' });
  expect(predictError(faint, { ...options, minSnr: 0 })).toEqual({ ok: false, reason: 'too-uncertain' });
});

describe('a prediction ends where one frame in ten gives no position', () => {
  const small = { width: 15, height: 15 };
  const middle = { x: 7.2, y: 6.8 };
  const frames = 3000;
  const cases: [string, Omit<PredictErrorOptions, 'at'>][] = [
    ['center of mass', { estimator: 'centerOfMass', noise: { readNoiseE: 3, backgroundE: 8 } }],
    [
      'center of mass, uncertain background',
      { estimator: 'centerOfMass', noise: { readNoiseE: 3 }, backgroundSigma: 0.6 },
    ],
    [
      'threshold, few photons of background',
      { estimator: 'thresholdedCenterOfMass', noise: { readNoiseE: 1, backgroundE: 4 }, thresholdSigma: 2 },
    ],
    [
      'threshold, read noise, uncertain background',
      {
        estimator: 'thresholdedCenterOfMass',
        noise: { readNoiseE: 6 },
        thresholdSigma: 1.5,
        backgroundSigma: 0.6,
      },
    ],
  ];
  test.each(cases)('%s', (name, options) => {
    const { estimator, backgroundSigma = 0, ...own } = options;
    const drawn = (flux: number) =>
      renderStar({ kind: 'gaussian', fwhmPx: 4 }, { ...small, ...middle, flux });
    const isOftenLost = (flux: number) => {
      const predicted = predictError(drawn(flux), { ...options, at: middle });
      return !predicted.ok && predicted.reason === 'often-lost';
    };
    let [low, high] = [30, 3000];
    expect([isOftenLost(low), isOftenLost(high)]).toEqual([true, false]);
    while (high / low > 1.001) {
      const flux = Math.sqrt(low * high);
      if (isOftenLost(flux)) low = flux;
      else high = flux;
    }
    const star = drawn(high);
    const prepare = estimator === 'centerOfMass' ? prepareCenterOfMass : prepareThresholdedCenterOfMass;
    const random = randomStream(`lost in ten: ${name}`);
    const frame = new Float64Array(small.width * small.height);
    const measure = prepare(small, { ...own, backgroundSigma, guess: middle });
    let lost = 0;
    for (let i = 0; i < frames; i++) {
      fillNoisyFrame(frame, star.data, options.noise, random);
      const level = backgroundSigma * random.normal();
      for (let k = 0; k < frame.length; k++) frame[k] += level;
      const found = measure(frame);
      if (!found.ok) lost++;
    }
    // The light is taken as normal, and the estimator reckons its noise from the frame itself.
    expectWithin(lost / frames, 0.1, 0.025, 'four standard errors are 0.022');
  });
});
