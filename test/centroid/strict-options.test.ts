/**
 * A word that no estimator reads is refused, with the nearest that is known; images of other numbers are read
 * alike.
 */
import {
  centerOfMass,
  chooseEstimator,
  crossCorrelation,
  estimateBackground,
  gaussianFit,
  locateStar,
  pointSymmetryCenter,
  positionBound,
  predictError,
  prepareRunningTemplate,
  quadCell,
  templateFit,
  thresholdedCenterOfMass,
  weightedCenterOfMass,
} from '@holdfast/centroid';
import { prepareStar, renderStar } from '@holdfast/psf';
import ndarray from 'ndarray';
import { describe, expect, test } from 'vitest';

const size = { width: 27, height: 23 };
const shape = { kind: 'gaussian', fwhmPx: 3 } as const;
const star = renderStar(shape, { ...size, x: 12.3, y: 10.7, flux: 5000 });
const noise = { readNoiseE: 2, backgroundE: 5 };
const at = { x: 12.3, y: 10.7 };
const template = prepareStar(shape, size);

/** Every call that takes options, with good ones. */
const calls: Readonly<Record<string, (image: typeof star, more: object) => unknown>> = {
  centerOfMass: (image, more) => centerOfMass(image, { noise, ...more }),
  thresholdedCenterOfMass: (image, more) => thresholdedCenterOfMass(image, { noise, ...more }),
  weightedCenterOfMass: (image, more) => weightedCenterOfMass(image, { noise, weightFwhmPx: 4, ...more }),
  quadCell: (image, more) => quadCell(image, { noise, fwhmPx: 3, ...more }),
  gaussianFit: (image, more) => gaussianFit(image, { noise, ...more }),
  pointSymmetryCenter: (image, more) => pointSymmetryCenter(image, { noise, ...more }),
  crossCorrelation: (image, more) => crossCorrelation(image, { noise, template, ...more }),
  templateFit: (image, more) => templateFit(image, { noise, template, ...more }),
  prepareRunningTemplate: (image, more) =>
    prepareRunningTemplate(size, { noise, radiusPx: 8, ...more }).measure(image, at),
  locateStar: (image, more) => locateStar(image, more),
  estimateBackground: (image, more) => estimateBackground(image, more),
  positionBound: (image, more) => positionBound(image, noise, more),
  predictError: (image, more) => predictError(image, { estimator: 'gaussianFit', at, noise, ...more }),
  'predictError of a center of mass': (image, more) =>
    predictError(image, { estimator: 'centerOfMass', at, noise, ...more }),
  chooseEstimator: (image, more) => {
    const choice = chooseEstimator({ expected: image, at }, noise, more);
    return choice.ok ? choice.rated.map(({ rmsPx }) => rmsPx) : choice;
  },
};

describe.each(Object.entries(calls))('%s', (_, call) => {
  test('takes good options', () => {
    expect(() => call(star, {})).not.toThrow();
  });
  test('refuses a name that it does not know', () => {
    expect(() => call(star, { color: 1 })).toThrow(TypeError);
    expect(() => call(star, { color: 1 })).toThrow(/options\.color is not known.*may hold/);
  });
  test('reads images of other numbers', () => {
    const whole = star.data.map(Math.round);
    const image = (data: Float64Array | Float32Array | Uint16Array) =>
      ndarray(data, [size.height, size.width]) as typeof star;
    const doubles = call(image(whole), {});
    expect(call(image(Float32Array.from(whole)), {})).toEqual(doubles);
    expect(call(image(Uint16Array.from(whole)), {})).toEqual(doubles);
  });
});

test('names the nearest known word', () => {
  expect(() => gaussianFit(star, { radius: 5 } as object)).toThrow('did you mean radiusPx?');
  expect(() => centerOfMass(star, { noise: { readNoiseE: 1, subtractedE: 100 } as never })).toThrow(
    /noise\.subtractedE is not known.*readNoiseE, backgroundE/,
  );
  expect(() => thresholdedCenterOfMass(star, { treshold: 5 } as object)).toThrow('did you mean threshold?');
  expect(() => positionBound(star, { readNoise: 3 } as never)).toThrow('did you mean readNoiseE?');
});

test('the same noise under the same word counts alike in a measurement and in its prediction', () => {
  const bright = { readNoiseE: 2, backgroundE: 100 };
  const faint = renderStar(shape, { ...size, x: 12.3, y: 10.7, flux: 500 });
  const measured = gaussianFit(faint, { noise: bright, guess: at, fitBackground: false });
  const predicted = predictError(faint, {
    estimator: 'gaussianFit',
    at,
    noise: bright,
    fitBackground: false,
  });
  if (!(measured.ok && predicted.ok)) throw new Error('not measured');
  expect(measured.sigmaX).toBeCloseTo(predicted.sigmaX, 12);
  const dark = gaussianFit(faint, { noise: { readNoiseE: 2 }, guess: at, fitBackground: false });
  if (!dark.ok) throw new Error('not measured');
  expect(measured.sigmaX).toBeGreaterThan(1.5 * (dark.sigmaX ?? 0));
});

test.each([null, 3, 'radiusPx', 5n, Symbol('s'), () => 1])(
  'refuses options that are no object: %s',
  (bad) => {
    expect(() => centerOfMass(star, bad as object)).toThrow(TypeError);
    expect(() => gaussianFit(star, { noise: bad } as object)).toThrow(TypeError);
  },
);

test('a value of a strange kind is shown, whatever it is', () => {
  const loop: { self?: unknown } = {};
  loop.self = loop;
  for (const bad of [5n, Symbol('s'), loop, () => 1])
    expect(() => gaussianFit(star, { minSnr: bad } as object)).toThrow(
      /minSnr must be a finite number >= 0, got/,
    );
});

test('refuses an image whose pixels are no numbers', () => {
  const data = new BigInt64Array(size.width * size.height);
  const image = { shape: [size.height, size.width], stride: [size.width, 1], offset: 0, data };
  expect(() => centerOfMass(image as never)).toThrow('image.data must be an array of numbers');
});
