/**
 * The sources of noise beyond photon and read noise, each by its distribution, and that none disturbs
 * another.
 */
import {
  type Camera,
  createImage,
  exposeFrame,
  pixelNoiseE,
  prepareExposure,
  randomStream,
} from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { prepareCosmicRays } from '../../packages/psf/src/camera/cosmic-rays.ts';
import { deliveredE } from '../../packages/psf/src/camera/non-linearity.ts';
import { sensorPixels } from '../../packages/psf/src/camera/sensor/sensor-pixels.ts';
import { expectWithin, expectWithinSigmas } from '../expect-within.ts';
import {
  chiSquare,
  correlation,
  kolmogorovSmirnov,
  moments,
  poissonProbabilities,
} from './goodness-of-fit.ts';
import { normalCdf } from './normal-cdf.ts';

const width = 240;
const height = 170;
const n = width * height;

/** Fine steps and a wide range, so that rounding adds 1e-7 to a variance and nothing clips. */
const fine: Camera = {
  readNoiseE: 2,
  gainEPerAdu: 2 ** -10,
  offsetAdu: 2 ** 20,
  bitDepth: 32,
  fullWellE: 1e6,
};

const expose = (electrons: number, camera: Camera, seed: string | number): Float64Array =>
  exposeFrame(
    createImage(width, height, new Float64Array(n).fill(electrons)),
    camera,
    randomStream('camera noise', seed),
  ).data;

describe('the tail of the read noise', () => {
  const camera: Camera = { ...fine, readNoiseTail: { fraction: 0.02, noiseRatio: 8 } };
  const share = (order: number) => 0.98 * 2 ** order + 0.02 * 16 ** order;
  const dark = expose(0, camera, 'tail');

  test('raises the noise over all pixels to readNoiseE sqrt(1 + fraction (ratio^2 - 1))', () => {
    const m2 = share(2);
    expectWithin(pixelNoiseE(camera), Math.sqrt(m2 + 2 ** -20 / 12), 1e-12, 'rounding');
    const fourth = 3 * share(4); // of the mixture, from the fourth moment 3 sigma^4 of a normal number
    expectWithinSigmas(moments(dark).variance, m2, Math.sqrt((fourth - m2 * m2) / n), 4);
  });

  test('gives the excess kurtosis 3 (m4 / m2^2 - 1) over all pixels', () => {
    let fourth = 0;
    for (const e of dark) fourth += e ** 4 / n;
    const excess = 3 * (share(4) / share(2) ** 2 - 1); // 45.7; pixels of one sigma would have 0
    // The eighth moment of a normal number is 105 sigma^8.
    const error = Math.sqrt((105 * share(8) - (3 * share(4)) ** 2) / n) / share(2) ** 2;
    expectWithinSigmas(fourth / share(2) ** 2 - 3, excess, error, 4);
  });

  test('is fixed: over frames each pixel is normal with its own sigma', () => {
    const { readNoiseE } = sensorPixels(camera, { width, height });
    const inSigmas = (frame: Float64Array) => frame.map((e, k) => e / readNoiseE[k]);
    const one = inSigmas(dark);
    const two = inSigmas(expose(0, camera, 'another frame'));
    for (const z of [one, two]) {
      const fit = kolmogorovSmirnov(z, normalCdf);
      expect(fit.statistic).toBeLessThan(fit.critical);
    }
    expect(Math.abs(correlation(one, two)) * Math.sqrt(n)).toBeLessThan(4);
  });
});

describe('row noise', () => {
  const camera: Camera = { ...fine, rowNoiseE: 1.5 };
  const rowMeans = (frame: Float64Array) =>
    Float64Array.from({ length: height }, (_, y) => moments(frame.subarray(y * width, (y + 1) * width)).mean);
  const columnMeans = (frame: Float64Array) =>
    Float64Array.from({ length: width }, (_, x) => {
      let sum = 0;
      for (let y = 0; y < height; y++) sum += frame[y * width + x];
      return sum / height;
    });
  const dark = expose(0, camera, 'row');

  test('is what the means of rows vary by, and columns do not', () => {
    const ofRows = 1.5 ** 2 + 4 / width;
    const rows = (moments(rowMeans(dark)).variance * height) / (height - 1);
    expectWithinSigmas(rows, ofRows, ofRows * Math.sqrt(2 / (height - 1)), 4);
    const ofColumns = 4 / height; // what all columns share is no variance between them
    const columns = (moments(columnMeans(dark)).variance * width) / (width - 1);
    expectWithinSigmas(columns, ofColumns, ofColumns * Math.sqrt(2 / (width - 1)), 4);
  });

  test('is one normal number per row', () => {
    let within = 0;
    const sigma = Math.sqrt(1.5 ** 2 + 4 / width);
    const means = rowMeans(dark);
    dark.forEach((e, k) => {
      within += (e - means[Math.floor(k / width)]) ** 2 / (n - height);
    });
    expectWithinSigmas(within, 4, 4 * Math.sqrt(2 / n), 4);
    const many = Float64Array.from([0, 1, 2, 3, 4, 5].flatMap((i) => [...rowMeans(expose(0, camera, i))]));
    const fit = kolmogorovSmirnov(many, (x) => normalCdf(x / sigma));
    expect(fit.statistic).toBeLessThan(fit.critical);
  });

  test('is new in each frame and in each row', () => {
    const one = rowMeans(dark);
    const two = rowMeans(expose(0, camera, 'another'));
    expect(Math.abs(correlation(one, two)) * Math.sqrt(height)).toBeLessThan(4);
    expect(
      Math.abs(correlation(one.subarray(1), one.subarray(0, height - 1))) * Math.sqrt(height),
    ).toBeLessThan(4);
  });

  test('counts in the noise of a pixel', () => {
    expectWithin(pixelNoiseE(camera), Math.sqrt(4 + 2.25 + 2 ** -20 / 12), 1e-12, 'rounding');
  });
});

describe('hot pixels', () => {
  const camera: Camera = { ...fine, exposureS: 3, hotPixels: { fraction: 0.03, meanEPerS: 20 } };
  const frames = 60;
  const stack = Array.from({ length: frames }, (_, i) => expose(0, camera, `hot ${i}`));
  const { hotEPerS } = sensorPixels(camera, { width, height });
  const meanE = Float64Array.from({ length: n }, (_, k) => stack.reduce((sum, f) => sum + f[k], 0) / frames);

  test('each shines with its own rate times the exposure', () => {
    // Sum of squares of the pixels' deviations, each over its variance (3 rate + read noise^2) / frames.
    let square = 0;
    let hot = 0;
    for (let k = 0; k < n; k++)
      if (hotEPerS[k] > 0) {
        square += (meanE[k] - 3 * hotEPerS[k]) ** 2 / ((3 * hotEPerS[k] + 4) / frames);
        hot++;
      }
    expect(hot).toBeGreaterThan(1000);
    expectWithinSigmas(square / hot, 1, Math.sqrt(2 / hot), 4);
  });

  test('the noise of each is that of its dark electrons', () => {
    // Over all hot pixels: variance over frames less read noise, against the mean.
    let variance = 0;
    let rate = 0;
    let error = 0;
    for (let k = 0; k < n; k++)
      if (hotEPerS[k] > 0) {
        const truth = 3 * hotEPerS[k] + 4;
        for (const frame of stack) variance += (frame[k] - meanE[k]) ** 2 / (frames - 1);
        rate += truth;
        error += (2 * truth * truth) / (frames - 1) + (3 * hotEPerS[k]) / frames;
      }
    expectWithinSigmas(variance, rate, Math.sqrt(error), 4);
  });

  test('all others stay dark', () => {
    const others = meanE.filter((_, k) => hotEPerS[k] === 0);
    expectWithinSigmas(moments(others).mean, 0, 2 / Math.sqrt(frames * others.length), 4);
    expectWithinSigmas(moments(others).variance, 4 / frames, (4 / frames) * Math.sqrt(2 / others.length), 4);
  });

  test('counts of a hot pixel are Poisson', () => {
    const bare = { ...camera, readNoiseE: 0, exposureS: 1 };
    const { hotEPerS: rates } = sensorPixels(bare, { width, height });
    const k = rates.findIndex((rate) => rate > 15 && rate < 25);
    const exposure = prepareExposure(bare, {
      width: 1,
      height: 1,
      originX: k % width,
      originY: Math.floor(k / width),
    });
    const { first, probabilities } = poissonProbabilities(rates[k]);
    const counts = probabilities.map(() => 0);
    const out = new Float64Array(1);
    let others = 0;
    for (let i = 0; i < 4000; i++) {
      exposure.exposeInto(out, new Float64Array(1), randomStream('one hot pixel', i));
      if (out[0] - first in counts) counts[out[0] - first]++;
      else others++;
    }
    const fit = chiSquare(counts, probabilities, others);
    expect(fit.statistic).toBeLessThan(fit.critical);
  });
});

describe('each source draws from its own stream', () => {
  const all: Camera = {
    ...fine,
    darkEPerS: 1,
    exposureS: 20,
    prnu: 0.02,
    dsnuE: 3,
    rowNoiseE: 1,
    hotPixels: { fraction: 0.05, meanEPerS: 10 },
    readNoiseTail: { fraction: 0.05, noiseRatio: 5 },
    cosmicRays: { ratePerCm2PerMin: 200_000, pixelSizeUm: 4 },
    nonLinearity: { kneeFraction: 0.3, lossAtFullWell: 0.1 },
    fullWellE: 800,
  };
  const light = Float64Array.from({ length: n }, (_, k) => (k % 500) / 2);
  const half = 2 ** -11 * (1 + 1e-9);

  /** The frame put together here, each source drawn by itself, before it is rounded. */
  function assemble(camera: Camera): Float64Array {
    const random = randomStream('frame', 9);
    const { response, offsetE, hotEPerS, readNoiseE } = sensorPixels(camera, { width, height });
    const { exposureS = 1, darkEPerS = 0, rowNoiseE = 0, cosmicRays } = camera;
    const photon = random.stream('photon');
    const held = light.map((e) => photon.poisson(e + darkEPerS * exposureS));
    const hot = random.stream('hot');
    hotEPerS.forEach((rate, k) => {
      if (rate > 0) held[k] += hot.poisson(rate * exposureS);
    });
    if (cosmicRays)
      prepareCosmicRays(cosmicRays, exposureS, { width, height })(held, random.stream('cosmic'));
    const rows = random.stream('row');
    const row = Array.from({ length: height }, () => rowNoiseE * rows.normal());
    const read = random.stream('read');
    return held.map(
      (e, k) =>
        response[k] * deliveredE(e, camera) +
        readNoiseE[k] * read.normal() +
        offsetE[k] +
        row[Math.floor(k / width)],
    );
  }

  const { prnu: _1, ...noPrnu } = all;
  const { dsnuE: _2, ...noDsnu } = all;
  const { rowNoiseE: _3, ...noRow } = all;
  const { hotPixels: _4, ...noHot } = all;
  const { readNoiseTail: _5, ...noTail } = all;
  const { cosmicRays: _6, ...noCosmic } = all;
  const { nonLinearity: _7, ...noCurve } = all;
  test.each([
    ['all on', all],
    ['PRNU off', noPrnu],
    ['DSNU off', noDsnu],
    ['row noise off', noRow],
    ['hot pixels off', noHot],
    ['tail of the read noise off', noTail],
    ['cosmic rays off', noCosmic],
    ['non-linearity off', noCurve],
    ['all off', { ...fine, fullWellE: 800 }],
  ] as [string, Camera][])('%s: the others give the same numbers', (_, camera) => {
    const frame = new Float64Array(n);
    prepareExposure(camera, { width, height }).exposeInto(frame, light, randomStream('frame', 9));
    const put = assemble(camera);
    let worst = 0;
    for (let k = 0; k < n; k++) worst = Math.max(worst, Math.abs(frame[k] - put[k]));
    expectWithin(worst, 0, half, 'rounding to half an ADU');
  });

  test('each of them changes the frame', () => {
    const frameOf = (camera: Camera) => {
      const frame = new Float64Array(n);
      prepareExposure(camera, { width, height }).exposeInto(frame, light, randomStream('frame', 9));
      return frame;
    };
    const whole = frameOf(all);
    const changed = (camera: Camera) => {
      const frame = frameOf(camera);
      return frame.filter((e, k) => e !== whole[k]).length;
    };
    for (const camera of [noPrnu, noDsnu, noRow]) expect(changed(camera)).toBeGreaterThan(0.99 * n);
    expectWithinSigmas(changed(noTail) / n, 0.05, Math.sqrt((0.05 * 0.95) / n), 4);
    // An exponential rate of mean m electrons gives none with a chance of 1 / (1 + m), here m = 200.
    const hot = 0.05 * (200 / 201);
    expectWithinSigmas(changed(noHot) / n, hot, Math.sqrt((hot * (1 - hot)) / n), 4);
    // 435 muons enter the stamp, with a scatter of 21; each changes a pixel at least.
    expect(changed(noCosmic)).toBeGreaterThan(330);
    expect(changed(noCurve)).toBeGreaterThan(0.01 * n);
  });
});

describe('calls', () => {
  test.each([
    [{ prnu: 0.3 }, 'camera.prnu must be in [0, 0.2], got 0.3'],
    [{ prnu: Number.NaN }, 'camera.prnu must be in [0, 0.2], got NaN'],
    [{ dsnuE: -1 }, 'camera.dsnuE must be a finite number >= 0, got -1'],
    [{ rowNoiseE: Infinity }, 'camera.rowNoiseE must be a finite number >= 0, got Infinity'],
    [
      { readNoiseTail: { fraction: 1.1, noiseRatio: 2 } },
      'camera.readNoiseTail.fraction must be in [0, 1], got 1.1',
    ],
    [
      { readNoiseTail: { fraction: 0.1, noiseRatio: 0.5 } },
      'camera.readNoiseTail.noiseRatio must be in [1, 1000], got 0.5',
    ],
    [
      { hotPixels: { fraction: -0.1, meanEPerS: 2 } },
      'camera.hotPixels.fraction must be in [0, 1], got -0.1',
    ],
    [
      { hotPixels: { fraction: 0.1, meanEPerS: -2 } },
      'camera.hotPixels.meanEPerS must be a finite number >= 0, got -2',
    ],
    [
      { cosmicRays: { ratePerCm2PerMin: -1, pixelSizeUm: 3 } },
      'camera.cosmicRays.ratePerCm2PerMin must be a finite number >= 0, got -1',
    ],
    [
      { cosmicRays: { ratePerCm2PerMin: 1, pixelSizeUm: 0 } },
      'camera.cosmicRays.pixelSizeUm must be a finite number > 0, got 0',
    ],
    [
      { cosmicRays: { ratePerCm2PerMin: 1, pixelSizeUm: 3, depthUm: 0 } },
      'camera.cosmicRays.depthUm must be a finite number > 0, got 0',
    ],
    [
      { cosmicRays: { ratePerCm2PerMin: 1, pixelSizeUm: 3, electronsPerUm: -80 } },
      'camera.cosmicRays.electronsPerUm must be a finite number > 0, got -80',
    ],
  ])('a camera of %o is refused', (wrong, message) => {
    const camera = { ...fine, ...wrong };
    expect(() => prepareExposure(camera, { width: 4, height: 3 })).toThrow(new RangeError(message));
    expect(() => pixelNoiseE(camera)).toThrow(message);
  });

  test('a seed that names no sensor is refused where it is used', () => {
    const camera = { ...fine, prnu: 0.01, sensorSeed: Number.NaN };
    expect(() => prepareExposure(camera, { width: 4, height: 3 })).toThrow(
      new RangeError('seed must be text or a finite number, got NaN'),
    );
  });
});
