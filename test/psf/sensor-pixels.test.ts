import { type Camera, createImage, exposeFrame, prepareExposure, randomStream } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { type SensorPixels, sensorPixels } from '../../packages/psf/src/camera/sensor/sensor-pixels.ts';
import { expectWithinSigmas } from '../expect-within.ts';
import { correlation, kolmogorovSmirnov } from './goodness-of-fit.ts';
import { normalCdf } from './normal-cdf.ts';

const camera: Camera = {
  readNoiseE: 2,
  gainEPerAdu: 2 ** -10,
  offsetAdu: 2 ** 20,
  bitDepth: 32,
  fullWellE: 1e5,
  prnu: 0.02,
  dsnuE: 3,
  hotPixels: { fraction: 0.1, meanEPerS: 40 },
  readNoiseTail: { fraction: 0.05, noiseRatio: 6 },
  sensorSeed: 'a sensor',
};

// Neither side is a multiple of a tile.
const width = 251;
const height = 163;
const n = width * height;
const pixels = sensorPixels(camera, { width, height });
const names = ['response', 'offsetE', 'hotEPerS', 'readNoiseE'] as const;

/** Quicker than toEqual on long arrays. */
const same = (a: Float64Array, b: Float64Array): boolean =>
  a.length === b.length && a.every((value, k) => Object.is(value, b[k]));

describe('the distribution over pixels', () => {
  test('response is normal around 1 with the PRNU as its spread', () => {
    const fit = kolmogorovSmirnov(pixels.response, (x) => normalCdf((x - 1) / 0.02));
    expect(fit.statistic).toBeLessThan(fit.critical);
  });

  test('offsets are normal around 0 with the DSNU as their spread', () => {
    const fit = kolmogorovSmirnov(pixels.offsetE, (x) => normalCdf(x / 3));
    expect(fit.statistic).toBeLessThan(fit.critical);
  });

  test('a tenth of the pixels is hot, with exponential rates', () => {
    const hot = pixels.hotEPerS.filter((rate) => rate > 0);
    expectWithinSigmas(hot.length / n, 0.1, Math.sqrt((0.1 * 0.9) / n), 4);
    const fit = kolmogorovSmirnov(hot, (rate) => 1 - Math.exp(-rate / 40));
    expect(fit.statistic).toBeLessThan(fit.critical);
  });

  test('a twentieth of the pixels is noisy, six times the others', () => {
    expect(new Set(pixels.readNoiseE)).toEqual(new Set([2, 12]));
    const noisy = pixels.readNoiseE.filter((sigma) => sigma === 12).length;
    expectWithinSigmas(noisy / n, 0.05, Math.sqrt((0.05 * 0.95) / n), 4);
  });

  test.each(names)('neighbors are independent, within and across tiles: %s', (name) => {
    const map = pixels[name];
    const limit = 4 / Math.sqrt(n);
    expect(Math.abs(correlation(map.subarray(1), map.subarray(0, n - 1)))).toBeLessThan(limit);
    expect(Math.abs(correlation(map.subarray(width), map.subarray(0, n - width)))).toBeLessThan(limit);
    // The same place in the next tile, where a repeated tile would show.
    expect(Math.abs(correlation(map.subarray(32), map.subarray(0, n - 32)))).toBeLessThan(limit);
    expect(Math.abs(correlation(map.subarray(32 * width), map.subarray(0, n - 32 * width)))).toBeLessThan(
      limit,
    );
  });

  test('the four maps are independent of each other', () => {
    for (const a of names)
      for (const b of names)
        if (a < b)
          expect(Math.abs(correlation(pixels[a], pixels[b])), `${a}, ${b}`).toBeLessThan(4 / Math.sqrt(n));
  });

  test('the largest PRNU that is allowed leaves no response below 0', () => {
    const { response } = sensorPixels({ ...camera, prnu: 0.2 }, { width, height });
    expect(response.reduce((a, b) => Math.min(a, b))).toBeGreaterThanOrEqual(0);
  });
});

describe('one sensor', () => {
  test('has the same pixels whenever it is asked, and another seed others', () => {
    const again = sensorPixels(camera, { width, height });
    const other = sensorPixels({ ...camera, sensorSeed: 'another sensor' }, { width, height });
    for (const name of names) {
      expect(same(again[name], pixels[name])).toBe(true);
      expect(Math.abs(correlation(pixels[name], other[name]))).toBeLessThan(4 / Math.sqrt(n));
    }
  });

  test('keeps each of its patterns whatever the others are', () => {
    const alone = (change: Partial<Camera>, name: keyof SensorPixels) => {
      const { prnu: _, dsnuE: __, hotPixels: ___, readNoiseTail: ____, ...plain } = camera;
      expect(same(sensorPixels({ ...plain, ...change }, { width, height })[name], pixels[name])).toBe(true);
    };
    alone({ prnu: 0.02 }, 'response');
    alone({ dsnuE: 3 }, 'offsetE');
    alone({ hotPixels: { fraction: 0.1, meanEPerS: 40 } }, 'hotEPerS');
    alone({ readNoiseTail: { fraction: 0.05, noiseRatio: 6 } }, 'readNoiseE');
  });

  test('scales with the figures: pixels that are hot or noisy stay so as there come to be more', () => {
    const more = sensorPixels(
      {
        ...camera,
        prnu: 0.04,
        dsnuE: 6,
        hotPixels: { fraction: 0.3, meanEPerS: 40 },
        readNoiseTail: { fraction: 0.2, noiseRatio: 6 },
      },
      { width, height },
    );
    const off = (a: number, b: number) => Math.abs(a - b);
    expect(pixels.response.every((r, k) => off(more.response[k] - 1, 2 * (r - 1)) < 1e-15)).toBe(true);
    expect(pixels.offsetE.every((o, k) => more.offsetE[k] === 2 * o)).toBe(true);
    expect(pixels.hotEPerS.every((rate, k) => rate === 0 || more.hotEPerS[k] === rate)).toBe(true);
    expect(pixels.readNoiseE.every((sigma, k) => sigma === 2 || more.readNoiseE[k] === 12)).toBe(true);
  });

  test('is alike everywhere without any of the four', () => {
    const { prnu: _, dsnuE: __, hotPixels: ___, readNoiseTail: ____, ...plain } = camera;
    const alike = sensorPixels(plain, { width: 3, height: 2 });
    expect(alike.response).toEqual(new Float64Array(6).fill(1));
    expect(alike.offsetE).toEqual(new Float64Array(6));
    expect(alike.hotEPerS).toEqual(new Float64Array(6));
    expect(alike.readNoiseE).toEqual(new Float64Array(6).fill(2));
  });
});

describe('a window of the sensor', () => {
  const windows = [
    { width: 40, height: 21, originX: 17, originY: 30 },
    { width: 32, height: 32, originX: 32, originY: 64 },
    { width: 1, height: 1, originX: 31, originY: 31 },
    { width: 33, height: 65, originX: 63, originY: 31 },
  ];
  test.each(windows)('shows the pixels on which it lies: %o', (window) => {
    const part = sensorPixels(camera, window);
    for (const name of names) {
      const cut: number[] = [];
      for (let y = 0; y < window.height; y++)
        for (let x = 0; x < window.width; x++)
          cut.push(pixels[name][(window.originY + y) * width + window.originX + x]);
      expect([...part[name]]).toEqual(cut);
    }
  });

  test('of any size agrees: more tiles than are kept, and few', () => {
    const large = sensorPixels(camera, { width: 400, height: 330, originX: 3, originY: 5 });
    const small = sensorPixels(camera, { width: 10, height: 1, originX: 390, originY: 320 });
    const from = (320 - 5) * 400 + 390 - 3;
    for (const name of names) expect([...large[name].subarray(from, from + 10)]).toEqual([...small[name]]);
  });
});

describe('a stamp that moves', () => {
  const light = (side: number) => new Float64Array(side * side).fill(300);
  const side = 24;

  test('makes the frames of a stamp that was prepared where it goes, and of one that returns', () => {
    const moving = prepareExposure(camera, { width: side, height: side });
    const out = new Float64Array(side * side);
    for (const [originX, originY] of [
      [0, 0],
      [5, 9],
      [5, 10],
      [200, 10],
      [200, 31],
      [5, 9],
    ]) {
      const still = prepareExposure(camera, { width: side, height: side, originX, originY });
      const there = new Float64Array(side * side);
      still.exposeInto(there, light(side), randomStream('frame'));
      moving.exposeInto(out, light(side), randomStream('frame'), originX, originY);
      expect(out).toEqual(there);
      const image = exposeFrame(createImage(side, side, light(side)), camera, randomStream('frame'), {
        originX,
        originY,
      });
      expect(image.data).toEqual(there);
    }
    // Left out, the place is that of the window again.
    const first = new Float64Array(side * side);
    prepareExposure(camera, { width: side, height: side }).exposeInto(
      first,
      light(side),
      randomStream('frame'),
    );
    moving.exposeInto(out, light(side), randomStream('frame'));
    expect(out).toEqual(first);
  });

  test('sees the same pixels: the mean of many frames moves with the stamp', () => {
    const exposure = prepareExposure({ ...camera, prnu: 0 }, { width: side, height: side });
    const frames = 200;
    const meanAt = (originX: number, label: string) => {
      const sum = new Float64Array(side * side);
      const out = new Float64Array(side * side);
      for (let i = 0; i < frames; i++) {
        exposure.exposeInto(out, new Float64Array(side * side), randomStream(label, i), originX, 40);
        for (let k = 0; k < sum.length; k++) sum[k] += out[k] / frames;
      }
      return sum;
    };
    const left = meanAt(60, 'left');
    const right = meanAt(67, 'right');
    // Column 7 of the left window is column 0 of the right one. Every pixel within 5 of its own standard
    // errors: of 408 pixels one fails with a chance of 2e-4.
    const { readNoiseE, hotEPerS } = sensorPixels(camera, {
      width: side,
      height: side,
      originX: 60,
      originY: 40,
    });
    for (let y = 0; y < side; y++)
      for (let x = 7; x < side; x++) {
        const k = y * side + x;
        const variance = (2 * (readNoiseE[k] ** 2 + hotEPerS[k])) / frames;
        expectWithinSigmas(right[k - 7], left[k], Math.sqrt(variance), 5);
      }
    expect(Math.abs(correlation(left, right))).toBeLessThan(0.3); // the windows as such show different pixels
  });

  test('must lie on the sensor', () => {
    const exposure = prepareExposure(camera, { width: 4, height: 3 });
    const call = (x: number, y: number) => () =>
      exposure.exposeInto(new Float64Array(12), new Float64Array(12), randomStream(1), x, y);
    expect(call(-1, 0)).toThrow(new RangeError('originX must be a whole number from 0 to 32768, got -1'));
    expect(call(0, 1.5)).toThrow(new RangeError('originY must be a whole number from 0 to 32768, got 1.5'));
    expect(() => prepareExposure(camera, { width: 4, height: 3, originX: Number.NaN })).toThrow(RangeError);
    expect(() => sensorPixels(camera, { width: 4, height: 3, originY: -3 })).toThrow(RangeError);
    expect(() => sensorPixels(camera, { width: 0, height: 3 })).toThrow(RangeError);
  });
});
