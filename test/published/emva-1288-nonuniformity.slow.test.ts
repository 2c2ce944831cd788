/**
 * Quantities of EMVA Standard 1288 that need stacks of frames: non-uniformities, dark noise, dark current,
 * row noise, and SNR. Each is measured on simulated frames as the standard defines it, in DN, and compared
 * with the camera's own field.
 */
import { type Camera, createImage, exposeFrame, frameToAdu, pixelNoiseE, randomStream } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { expectWithin, expectWithinSigmas } from '../expect-within.ts';
import { measureStack, type StackMoments } from '../psf/frame-stack.ts';
import { moments } from '../psf/goodness-of-fit.ts';

const source = 'EMVA 1288, definitions of R3.1 and R4.0 as in the reference implementation';

const width = 250;
const height = 180;
const n = width * height;
const K = 0.25;
const camera: Camera = {
  readNoiseE: 5,
  gainEPerAdu: 1 / K,
  offsetAdu: 100,
  bitDepth: 16,
  fullWellE: 20_000,
  prnu: 0.012,
  dsnuE: 3,
  sensorSeed: 'emva',
};

const frameOf = (electrons: number, of: Camera, seed: string): Float64Array => {
  const light = createImage(width, height, new Float64Array(n).fill(electrons));
  return frameToAdu(exposeFrame(light, of, randomStream('emva stack', seed)), of).data;
};
const stackOf = (electrons: number, of: Camera, frames: number, seed = ''): StackMoments =>
  measureStack(frames, (i) => frameOf(electrons, of, `${seed} ${electrons} ${i}`));

const dark = stackOf(0, camera, 16);
const half = stackOf(camera.fullWellE / 2, camera, 16);

describe(`non-uniformity [${source}]`, () => {
  test('PRNU1288 = sqrt(s^2_y.50 - s^2_y.dark) / (mu_y.50 - mu_y.dark), at half of the saturation', () => {
    const difference = half.spatialVariance - dark.spatialVariance;
    const signal = half.mean - dark.mean;
    const prnu = Math.sqrt(difference) / signal;
    // The error of a root is half of the relative error of its square.
    const error = prnu * (Math.hypot(half.spatialError, dark.spatialError) / difference / 2);
    expectWithinSigmas(prnu, 0.012, error, 4);
    expectWithin(error, 0, 0.0001, 'the test tells a PRNU of 1.2 % from 1.24 %');
  });

  test('DSNU1288 = s_y.dark / K', () => {
    const dsnu = Math.sqrt(dark.spatialVariance) / K;
    expectWithinSigmas(dsnu, 3, (dsnu * dark.spatialError) / dark.spatialVariance / 2, 4);
  });

  test('neither without its field', () => {
    const { prnu: _, dsnuE: __, ...even } = camera;
    for (const electrons of [0, 10_000]) {
      const stack = stackOf(electrons, even, 8, 'even');
      expectWithinSigmas(stack.spatialVariance, 0, stack.spatialError, 4);
    }
  });

  test('the pattern is the same on every frame: stacks of other frames have the same mean frame', () => {
    const again = stackOf(10_000, camera, 16, 'again');
    const off = again.meanFrame.map((e, k) => e - half.meanFrame[k]);
    const left = (2 * half.temporalVariance) / 16;
    expectWithinSigmas(moments(off).variance, left, left * Math.sqrt(2 / n), 4);
  });

  test('hot pixels add to the DSNU in proportion to the exposure', () => {
    const hotPixels = { fraction: 0.1, meanEPerS: 6 };
    for (const exposureS of [1, 4]) {
      const stack = stackOf(0, { ...camera, exposureS, hotPixels }, 8, `hot ${exposureS}`);
      // Moments about 0 of a rate that is exponential in a tenth of the pixels: f m, 2 f m^2, 6 f m^3, 24 f
      // m^4.
      const m = hotPixels.meanEPerS * exposureS;
      const [m1, m2, m3, m4] = [0.1 * m, 0.2 * m ** 2, 0.6 * m ** 3, 2.4 * m ** 4];
      const variance = m2 - m1 ** 2;
      const fourth = m4 - 4 * m1 * m3 + 6 * m1 ** 2 * m2 - 3 * m1 ** 4;
      // What else varies from pixel to pixel: the offsets, and an eighth of the temporal variance.
      const others = 9 + stack.temporalVariance / K ** 2 / 8;
      const error = Math.sqrt((fourth - variance ** 2 + 4 * variance * others + 2 * others ** 2) / n);
      expectWithinSigmas(stack.spatialVariance / K ** 2, 9 + variance, error, 4);
    }
  });
});

describe(`temporal noise [${source}]`, () => {
  test('sigma_d = sqrt(sigma^2_y.dark - 1/12) / K is the read noise', () => {
    const sigma = Math.sqrt(dark.temporalVariance - 1 / 12) / K;
    expectWithinSigmas(sigma, 5, dark.temporalError / K ** 2 / (2 * 5), 4);
  });

  test('sigma_y.dark is K times pixelNoiseE with row noise and noisy pixels', () => {
    const busy: Camera = {
      ...camera,
      rowNoiseE: 2,
      readNoiseTail: { fraction: 0.03, noiseRatio: 5 },
    };
    const stack = stackOf(0, busy, 16, 'busy');
    const variance = (K * pixelNoiseE(busy)) ** 2;
    expectWithin(variance, K ** 2 * (25 * (1 + 0.03 * 24) + 4) + 1 / 12, 1e-12, 'rounding');
    // The share of noisy pixels scatters from sensor to sensor; what a row shares counts once for it and not
    // per pixel.
    const pixel = K ** 2 * 25;
    const fourth = 0.97 + 0.03 * 5 ** 4;
    const mixture = pixel ** 2 * (fourth - (1 + 0.03 * 24) ** 2) + (2 * pixel ** 2 * fourth) / 15;
    const rows = (2 * (K ** 2 * 4) ** 2) / (15 * height);
    expectWithinSigmas(stack.temporalVariance, variance, Math.sqrt(mixture / n + rows), 4);
  });

  test('row noise is the row part of the variance of a dark frame', () => {
    // R4.0: s^2_row = ((M N - N) s^2_rav - M (s^2 - s^2_cav)) / (M N - M - N), for M rows and N columns, from
    // the variance of all pixels, of the means of rows and of the means of columns.
    const { dsnuE: _, prnu: __, ...even } = camera;
    const frame = frameOf(0, { ...even, rowNoiseE: 4 }, 'rows');
    const rowMeans = new Float64Array(height);
    const columnMeans = new Float64Array(width);
    frame.forEach((v, k) => {
      rowMeans[Math.floor(k / width)] += v / width;
      columnMeans[k % width] += v / height;
    });
    const [all, ofRows, ofColumns] = [frame, rowMeans, columnMeans].map((v) => moments(v).variance);
    const rest = n - height - width;
    const rowVariance = ((n - width) * ofRows - height * (all - ofColumns)) / rest;
    const expected = K ** 2 * 16;
    const pixel = K ** 2 * 25 + 1 / 12;
    expectWithinSigmas(rowVariance, expected, (expected + pixel / width) * Math.sqrt(2 / height), 4);
    const pixelVariance = (n * (all - ofRows - ofColumns)) / rest;
    expectWithinSigmas(pixelVariance, pixel, pixel * Math.sqrt(2 / n), 4);
  });

  test('dark current is the slope of mean and of variance with the exposure', () => {
    const { prnu: _, ...even } = camera;
    const leaky: Camera = { ...even, darkEPerS: 30, hotPixels: { fraction: 1, meanEPerS: 5 } };
    const times = [0, 2, 5, 10];
    const stacks = times.map((exposureS) => stackOf(0, { ...leaky, exposureS }, 6, `dark ${exposureS}`));
    const slope = (values: number[], errors: number[]) => {
      const weights = errors.map((e) => 1 / e ** 2);
      const total = weights.reduce((a, b) => a + b, 0);
      const center = times.reduce((sum, t, i) => sum + weights[i] * t, 0) / total;
      const spread = times.reduce((sum, t, i) => sum + weights[i] * (t - center) ** 2, 0);
      return {
        value: times.reduce((sum, t, i) => sum + weights[i] * (t - center) * values[i], 0) / spread,
        error: 1 / Math.sqrt(spread),
      };
    };
    // All rates together scatter by 5 / sqrt(n) from their mean of 35 electrons per second.
    const sensor = 5 / Math.sqrt(n);
    const byMean = slope(
      stacks.map((s) => s.mean),
      stacks.map((s) => Math.sqrt(s.temporalVariance / (n * s.frames))),
    );
    expectWithinSigmas(byMean.value / K, 35, Math.hypot(byMean.error / K, sensor), 4);
    const byVariance = slope(
      stacks.map((s) => s.temporalVariance),
      stacks.map((s) => s.temporalError),
    );
    expectWithinSigmas(byVariance.value / K ** 2, 35, Math.hypot(byVariance.error / K ** 2, sensor), 4);
  });
});

describe(`SNR [${source}]`, () => {
  const levels = [3, 10, 40, 200, 1000, 5000, 18_000];

  test.each(levels)('temporal, at %d electrons: mu / sqrt(sigma_d^2 + sigma_q^2 / K^2 + mu)', (electrons) => {
    const stack = stackOf(electrons, camera, 4, 'snr');
    const snr = (stack.mean - dark.mean) / Math.sqrt(stack.temporalVariance);
    const variance = 25 + 1 / 12 / K ** 2 + electrons;
    // Response and offset of this sensor average to 1 and 0 within their own errors; the light of a pixel
    // with response g has the variance g^2 mu, so (1 + PRNU^2) mu on average.
    const signal = Math.hypot(
      Math.sqrt(variance / (4 * n)),
      Math.sqrt((25 + 4 / 3) / (16 * n)),
      (0.012 * electrons) / Math.sqrt(n),
    );
    const relative = Math.hypot(signal / electrons, Math.sqrt(1 / (2 * n * 3)));
    const expected = electrons / Math.sqrt(variance + 0.012 ** 2 * electrons);
    expectWithinSigmas(snr, expected, expected * relative, 4);
  });

  test.each(levels)('total, at %d electrons: with DSNU^2 and (PRNU mu)^2 in the variance', (electrons) => {
    const { mean, variance } = moments(frameOf(electrons, camera, `total ${electrons}`));
    const total = 25 + 1 / 12 / K ** 2 + 9 + electrons * (1 + 0.012 ** 2) + (0.012 * electrons) ** 2;
    expectWithinSigmas(variance / K ** 2, total, total * Math.sqrt((2 + electrons / total ** 2) / n), 4);
    const snr = (mean - camera.offsetAdu) / Math.sqrt(variance);
    const expected = electrons / Math.sqrt(total);
    const relative = Math.hypot(Math.sqrt(total / n) / electrons, Math.sqrt(1 / (2 * n)));
    expectWithinSigmas(snr, expected, expected * relative, 4);
  });
});

test(`saturation capacity is the exposure of the largest temporal variance [${source}]`, () => {
  // In steps of 500 electrons: at 19,500 the well is 3.5 standard deviations of the light away and the
  // variance is still the largest, 2.6 % above that at 19,000, five standard errors; at 20,000 half of the
  // pixels are full.
  const { prnu: _, dsnuE: __, ...even } = camera;
  const levels = Array.from({ length: 11 }, (_, i) => 17_000 + 500 * i);
  const variances = levels.map(
    (electrons) => moments(frameOf(electrons, even, `peak ${electrons}`)).variance,
  );
  const peak = levels[variances.indexOf(Math.max(...variances))];
  expect(peak).toBe(19_500);
});
