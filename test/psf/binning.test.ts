import {
  aduToElectrons,
  type Camera,
  createImage,
  exposeFrame,
  frameToAdu,
  type Image,
  pixelNoiseE,
  prepareExposure,
  randomStream,
  saturationE,
} from '@holdfast/psf';
import ndarray from 'ndarray';
import ops from 'ndarray-ops';
import { describe, expect, test } from 'vitest';
import { sensorPixels } from '../../packages/psf/src/camera/sensor/sensor-pixels.ts';
import { type Binning, binFrame } from '../../packages/psf/src/image/binning.ts';
import { expectWithin, expectWithinSigmas } from '../expect-within.ts';
import { moments } from './goodness-of-fit.ts';

const width = 240;
const height = 180;
const flat = (electrons: number): Image =>
  createImage(width, height, new Float64Array(width * height).fill(electrons));
const gradient = createImage(
  width,
  height,
  Float64Array.from({ length: width * height }, (_, k) => (k % 97) + Math.floor(k / width)),
);

const camera: Camera = { readNoiseE: 4, gainEPerAdu: 0.5, offsetAdu: 300, bitDepth: 16, fullWellE: 12_000 };
const rich: Camera = {
  ...camera,
  darkEPerS: 2,
  exposureS: 3,
  prnu: 0.02,
  dsnuE: 5,
  rowNoiseE: 2,
  hotPixels: { fraction: 0.05, meanEPerS: 50 },
  readNoiseTail: { fraction: 0.1, noiseRatio: 4 },
  cosmicRays: { ratePerCm2PerMin: 20_000, pixelSizeUm: 4 },
  nonLinearity: { kneeFraction: 0.01, lossAtFullWell: 0.1 },
};
const binned = (base: Camera, factor: number, when: Binning['when']): Camera => ({
  ...base,
  binning: { factor, when },
});

describe('binFrame', () => {
  test('sums squares of pixels, row by row', () => {
    const image = createImage(
      6,
      4,
      Float64Array.from({ length: 24 }, (_, k) => k),
    );
    const half = binFrame(image, 2);
    expect(half.shape).toEqual([2, 3]);
    expect([...half.data]).toEqual([14, 22, 30, 62, 70, 78]);
    expect(image.data).toEqual(Float64Array.from({ length: 24 }, (_, k) => k));
    expect(binFrame(image, 1).data).toEqual(image.data);
  });

  test.each([2, 3, 4])('by %d: the sum of the views that begin at each pixel of a square', (factor) => {
    const sum = createImage(width / factor, height / factor);
    for (let j = 0; j < factor; j++)
      for (let i = 0; i < factor; i++) ops.addeq(sum, gradient.lo(j, i).step(factor, factor));
    expect(binFrame(gradient, factor).data).toEqual(sum.data);
  });

  test('moves the center of mass of light as its docstring says', () => {
    const image = createImage(40, 24);
    for (const [x, y, e] of [
      [11, 5, 2],
      [14, 6, 7],
      [12, 10, 4],
    ])
      image.set(y, x, e);
    const center = (frame: Image) => {
      let [s, sx, sy] = [0, 0, 0];
      for (let y = 0; y < frame.shape[0]; y++)
        for (let x = 0; x < frame.shape[1]; x++) {
          s += frame.get(y, x);
          sx += x * frame.get(y, x);
          sy += y * frame.get(y, x);
        }
      return { x: sx / s, y: sy / s };
    };
    // Each pixel of light put back at the center of its binned pixel: 4 x + 1.5 of the small frame's own
    // coordinates.
    const small = center(binFrame(image, 4));
    const blocks = createImage(40, 24);
    for (let y = 0; y < 24; y++)
      for (let x = 0; x < 40; x++)
        blocks.set(y, x, binFrame(image, 4).get(Math.floor(y / 4), Math.floor(x / 4)) / 16);
    expectWithin(4 * small.x + 1.5, center(blocks).x, 1e-12, 'rounding');
    expectWithin(4 * small.y + 1.5, center(blocks).y, 1e-12, 'rounding');
  });

  test('reads a view of any stride as the image it shows', () => {
    const view = ndarray(
      Float64Array.from({ length: 24 }, (_, k) => k),
      [6, 4],
    ).transpose(1, 0) as Image;
    const plain = createImage(6, 4);
    ops.assign(plain, view);
    expect(binFrame(view, 2).data).toEqual(binFrame(plain, 2).data);
  });

  test('refuses sides that are no whole number of squares', () => {
    expect(() => binFrame(createImage(7, 4), 2)).toThrow(
      new RangeError('width of the frame must be a multiple of the binning factor 2, got 7'),
    );
    expect(() => binFrame(createImage(8, 5), 2)).toThrow('height of the frame');
    expect(() => binFrame(createImage(8, 4), 17)).toThrow(
      new RangeError('factor must be a whole number from 1 to 16, got 17'),
    );
  });
});

describe('after the read', () => {
  test.each([2, 3])('by %d: exactly the sum of the frame without binning', (factor) => {
    const whole = exposeFrame(gradient, rich, randomStream('same'));
    const frame = exposeFrame(gradient, binned(rich, factor, 'after-read'), randomStream('same'));
    expect(frame.shape).toEqual([height / factor, width / factor]);
    expect(frame.data).toEqual(binFrame(whole, factor).data);
  });

  test('the noise of a pixel is factor times that of one read', () => {
    const three = binned(camera, 3, 'after-read');
    expectWithin(pixelNoiseE(three), 3 * pixelNoiseE(camera), 1e-14, 'rounding');
    const { variance } = moments(exposeFrame(flat(0), three, randomStream('after')).data);
    const expected = 9 * (16 + 0.25 / 12);
    expectWithinSigmas(variance, expected, expected * Math.sqrt((2 * 9) / (width * height)), 4);
  });

  test('row noise counts factor^3 times, as the pixels of a row share theirs', () => {
    const striped = binned({ ...camera, rowNoiseE: 6 }, 3, 'after-read');
    const expected = 9 * (16 + 0.25 / 12) + 27 * 36;
    expectWithin(pixelNoiseE(striped), Math.sqrt(expected), 1e-12, 'rounding');
    const frames = 40;
    let variance = 0;
    for (let i = 0; i < frames; i++)
      for (const e of exposeFrame(flat(0), striped, randomStream('rows', i)).data)
        variance += (e * e * 9) / (width * height) / frames;
    // The 60 binned rows of each frame carry nearly all of it.
    expectWithinSigmas(variance, expected, expected * Math.sqrt(2 / (60 * frames)), 4);
  });

  test('ADU are the sum of the reads, with factor^2 offsets, and come back unchanged', () => {
    const two = binned(camera, 2, 'after-read');
    const frame = exposeFrame(gradient, two, randomStream('adu'));
    const adu = frameToAdu(frame, two);
    const single = frameToAdu(exposeFrame(gradient, camera, randomStream('adu')), camera);
    expect(adu.data).toEqual(binFrame(single, 2).data);
    expect(aduToElectrons(adu, two).data).toEqual(frame.data);
    expect(frameToAdu(createImage(1, 1, Float64Array.of(1e9)), two).data[0]).toBe(4 * 65_535);
  });

  test('saturation is that of all its pixels', () => {
    const two = binned(camera, 2, 'after-read');
    expectWithin(saturationE(two), 48_000 - 4 * pixelNoiseE(two), 1e-9, 'rounding');
    const narrow = binned({ ...camera, bitDepth: 12 }, 2, 'after-read');
    expect(saturationE(narrow)).toBe(4 * (4095 - 300) * 0.5);
    const full = exposeFrame(flat(20_000), narrow, randomStream('narrow')).data;
    expect(full.every((e) => e === saturationE(narrow))).toBe(true);
  });
});

describe('before the read', () => {
  test('the electrons are those of the pixels, read once', () => {
    const silent = { ...rich, readNoiseE: 0, rowNoiseE: 0, dsnuE: 0, gainEPerAdu: 2 ** -8, bitDepth: 32 };
    const frame = exposeFrame(gradient, binned(silent, 3, 'before-read'), randomStream('charge'));
    const whole = exposeFrame(gradient, silent, randomStream('charge'));
    expect(frame.shape).toEqual([60, 80]);
    const sums = binFrame(whole, 3).data;
    let worst = 0;
    for (let k = 0; k < sums.length; k++) worst = Math.max(worst, Math.abs(frame.data[k] - sums[k]));
    expectWithin(worst, 0, 5 * 2 ** -8, 'nine roundings of half a step, and one');
  });

  test('the noise of a pixel is that of one read, at the same light a third of that after the read', () => {
    const three = binned(camera, 3, 'before-read');
    expect(pixelNoiseE(three)).toBe(pixelNoiseE(camera));
    const { mean, variance } = moments(exposeFrame(flat(20), three, randomStream('before')).data);
    const count = (width * height) / 9;
    const expected = 180 + 16 + 0.25 / 12;
    expectWithinSigmas(mean, 180, Math.sqrt(expected / count), 4);
    expectWithinSigmas(variance, expected, expected * Math.sqrt((2 + 1 / expected) / count), 4);
  });

  test('offset and read noise are those of the first pixel of the square, row noise of the binned row', () => {
    const three = binned(
      { ...rich, gainEPerAdu: 2 ** -10, bitDepth: 32, offsetAdu: 2 ** 20 },
      3,
      'before-read',
    );
    const bare = { ...three, readNoiseE: 0, rowNoiseE: 0, dsnuE: 0 };
    const frame = exposeFrame(gradient, three, randomStream('first')).data;
    const charges = exposeFrame(gradient, bare, randomStream('first')).data;
    const { offsetE, readNoiseE } = sensorPixels(three, { width, height });
    const read = randomStream('first').stream('read');
    const rows = randomStream('first').stream('row');
    let worst = 0;
    for (let y = 0, k = 0; y < height / 3; y++) {
      const row = 2 * rows.normal();
      for (let x = 0; x < width / 3; x++, k++) {
        const at = 3 * y * width + 3 * x;
        const put = charges[k] + readNoiseE[at] * read.normal() + offsetE[at] + row;
        worst = Math.max(worst, Math.abs(frame[k] - put));
      }
    }
    expectWithin(worst, 0, 2 ** -10, 'two roundings of half a step');
  });

  test('ADU are those of one read', () => {
    const two = binned(camera, 2, 'before-read');
    const frame = exposeFrame(gradient, two, randomStream('adu'));
    const adu = frameToAdu(frame, two);
    expect(adu.data.every((v) => Number.isInteger(v) && v >= 0 && v <= 65_535)).toBe(true);
    expect(aduToElectrons(adu, two).data).toEqual(frame.data);
  });

  test('saturation is four full wells or the end of the output', () => {
    const wide = binned({ ...camera, gainEPerAdu: 2 }, 2, 'before-read');
    expectWithin(saturationE(wide), 48_000 - 4 * pixelNoiseE(wide), 1e-9, 'rounding');
    const full = exposeFrame(flat(20_000), wide, randomStream('full')).data;
    expectWithinSigmas(moments(full).mean, 48_000, (pixelNoiseE(wide) * 2) / Math.sqrt(width * height), 4);
    const narrow = binned(camera, 2, 'before-read');
    expect(saturationE(narrow)).toBe((65_535 - 300) * 0.5);
    expect(exposeFrame(flat(20_000), narrow, randomStream('full')).data.every((e) => e === 32_617.5)).toBe(
      true,
    );
  });
});

describe('the size of a frame', () => {
  test.each(['before-read', 'after-read'] as const)('is that of the light over the factor: %s', (when) => {
    const exposure = prepareExposure(binned(rich, 2, when), { width: 12, height: 6, originX: 4, originY: 8 });
    expect(exposure).toMatchObject({ width: 12, height: 6, frameWidth: 6, frameHeight: 3 });
    const out = new Float64Array(18);
    const light = new Float64Array(72).fill(20);
    exposure.exposeInto(out, light, randomStream('size'));
    expect(light).toEqual(new Float64Array(72).fill(20));
    const image = createImage(12, 6, light);
    const frame = exposeFrame(image, binned(rich, 2, when), randomStream('size'), { originX: 4, originY: 8 });
    expect(frame.data).toEqual(out);
    expect(() => exposure.exposeInto(new Float64Array(72), light, randomStream(1))).toThrow(
      'out must have width * height = 18 values, got 72',
    );
  });

  test('a factor of 1 changes nothing', () => {
    const plain = exposeFrame(gradient, rich, randomStream('one')).data;
    for (const when of ['before-read', 'after-read'] as const)
      expect(exposeFrame(gradient, binned(rich, 1, when), randomStream('one')).data).toEqual(plain);
  });

  test('sides and origin are whole numbers of squares', () => {
    const three = binned(camera, 3, 'after-read');
    expect(() => prepareExposure(three, { width: 10, height: 6 })).toThrow(
      new RangeError('width must be a multiple of the binning factor 3, got 10'),
    );
    expect(() => prepareExposure(three, { width: 9, height: 7 })).toThrow('height must be a multiple');
    expect(() => prepareExposure(three, { width: 9, height: 6, originX: 2 })).toThrow(
      'originX must be a multiple of the binning factor 3, got 2',
    );
    const exposure = prepareExposure(three, { width: 9, height: 6 });
    expect(() =>
      exposure.exposeInto(new Float64Array(6), new Float64Array(54), randomStream(1), 3, 4),
    ).toThrow('originY must be a multiple of the binning factor 3, got 4');
  });

  test.each([
    [{ factor: 0, when: 'after-read' }, 'camera.binning.factor must be a whole number from 1 to 16, got 0'],
    [
      { factor: 2.5, when: 'after-read' },
      'camera.binning.factor must be a whole number from 1 to 16, got 2.5',
    ],
    [{ factor: 2, when: 'never' }, 'camera.binning.when must be one of before-read, after-read, got "never"'],
  ])('a binning of %o is refused', (binning, message) => {
    expect(() => pixelNoiseE({ ...camera, binning: binning as Binning })).toThrow(message);
  });
});
