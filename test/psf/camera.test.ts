import {
  aduToElectrons,
  type Camera,
  createImage,
  defaultCamera,
  exposeFrame,
  frameToAdu,
  type Image,
  pixelNoiseE,
  prepareExposure,
  randomStream,
  saturationE,
} from '@holdfast/psf';
import ndarray from 'ndarray';
import { describe, expect, test } from 'vitest';
import { expectWithin, expectWithinSigmas } from '../expect-within.ts';
import { correlation, moments } from './goodness-of-fit.ts';

const width = 250;
const height = 160;
const n = width * height;
const flat = (electrons: number): Image => createImage(width, height, new Float64Array(n).fill(electrons));

/** Wide enough that nothing clips. */
const wide: Camera = { readNoiseE: 3, gainEPerAdu: 1, offsetAdu: 1000, bitDepth: 32, fullWellE: 1e9 };

const expose = (electrons: number, camera: Camera, seed: string | number): Float64Array =>
  exposeFrame(flat(electrons), camera, randomStream('camera', seed)).data;

describe('the noise of a frame', () => {
  // The photon transfer line of EMVA 1288, in electrons: variance = mean + read noise^2 + gain^2 / 12.
  const cameras: [string, Camera][] = [
    ['read noise 3, gain 1', wide],
    ['read noise 1.5, gain 0.25', { ...wide, readNoiseE: 1.5, gainEPerAdu: 0.25 }],
    ['read noise 5, gain 4', { ...wide, readNoiseE: 5, gainEPerAdu: 4 }],
    ['dark current', { ...wide, darkEPerS: 2, exposureS: 10 }],
  ];
  describe.each(cameras)('%s', (name, camera) => {
    const darkE = (camera.darkEPerS ?? 0) * (camera.exposureS ?? 1);

    test.each([0, 0.5, 9, 40, 700, 30_000])('mean and variance at %d electrons', (electrons) => {
      const m = moments(expose(electrons, camera, `${name} ${electrons}`));
      const mean = electrons + darkE;
      const variance = mean + camera.readNoiseE ** 2 + camera.gainEPerAdu ** 2 / 12;
      expectWithinSigmas(m.mean, mean, Math.sqrt(variance / n), 4);
      // The count adds the kurtosis of its Poisson part: var(s^2) = (2 variance^2 + mean) / n.
      expectWithinSigmas(m.variance, variance, Math.sqrt((2 * variance * variance + mean) / n), 4);
    });
  });

  test('a variance without the rounding term would show at gain 4', () => {
    const camera = cameras[2][1];
    const m = moments(expose(0, camera, 'rounding'));
    const without = camera.readNoiseE ** 2;
    expect((m.variance - without) / (without * Math.sqrt(2 / n))).toBeGreaterThan(4); // 1.33 above 25: 7.5 expected
  });

  test('pixelNoiseE is the noise of a dark frame', () => {
    const camera = { ...wide, readNoiseE: 2, gainEPerAdu: 3 };
    expectWithin(pixelNoiseE(camera), Math.sqrt(4 + 9 / 12), 1e-15, 'rounding');
    const noise = Math.sqrt(moments(expose(0, camera, 'dark')).variance);
    expectWithinSigmas(noise, pixelNoiseE(camera), pixelNoiseE(camera) / Math.sqrt(2 * n), 4);
  });

  test('neighboring pixels are independent', () => {
    const frame = expose(20, wide, 'neighbors');
    expect(Math.abs(correlation(frame.subarray(1), frame.subarray(0, n - 1))) * Math.sqrt(n)).toBeLessThan(4);
    expect(
      Math.abs(correlation(frame.subarray(width), frame.subarray(0, n - width))) * Math.sqrt(n),
    ).toBeLessThan(4);
  });
});

describe('streams', () => {
  test('the same stream gives the same frame, another stream another', () => {
    expect(expose(20, wide, 1)).toEqual(expose(20, wide, 1));
    expect(expose(20, wide, 1)).not.toEqual(expose(20, wide, 2));
  });

  test('a change of read noise leaves the photons as they are, a change of light the read noise', () => {
    const silent = { ...wide, readNoiseE: 0 };
    const fine = { ...wide, gainEPerAdu: 2 ** -10, readNoiseE: 2 };
    const photons = expose(20, silent, 'split');
    const noisy = expose(20, fine, 'split');
    const read = randomStream('camera', 'split').stream('read');
    // What differs is twice the normal numbers of the stream 'read', to the rounding of half an ADU.
    expect(photons.every((e, k) => Math.abs(noisy[k] - e - 2 * read.normal()) <= 2 ** -11)).toBe(true);

    const photon = randomStream('camera', 'split').stream('photon');
    expect(photons.every((e) => e === photon.poisson(20))).toBe(true);

    const brighter = expose(500, fine, 'split');
    const brighterPhotons = expose(500, silent, 'split');
    expect(
      noisy.every((e, k) => Math.abs(e - photons[k] - (brighter[k] - brighterPhotons[k])) <= 2 ** -10),
    ).toBe(true);
  });
});

describe('the ends of the range', () => {
  test('the full well takes away the photon noise of a bright pixel, and leaves the read noise', () => {
    const camera = { ...wide, fullWellE: 10_000 };
    const m = moments(expose(20_000, camera, 'well'));
    expectWithinSigmas(m.mean, 10_000, pixelNoiseE(camera) / Math.sqrt(n), 4);
    expectWithinSigmas(m.variance, pixelNoiseE(camera) ** 2, pixelNoiseE(camera) ** 2 * Math.sqrt(2 / n), 4);
  });

  test('the output ends at 0 and at 2^bits - 1', () => {
    const camera: Camera = { readNoiseE: 50, gainEPerAdu: 2, offsetAdu: 10, bitDepth: 8, fullWellE: 1e6 };
    const dark = expose(0, camera, 'low');
    expect(dark.reduce((a, b) => Math.min(a, b))).toBe(-20);
    const bright = expose(2000, camera, 'high');
    expect(bright.every((e) => e === (255 - 10) * 2)).toBe(true);
  });

  test('saturationE is the end of the output where that comes first', () => {
    const camera = { ...defaultCamera, bitDepth: 12, offsetAdu: 100, gainEPerAdu: 0.5, fullWellE: 12_000 };
    expect(saturationE(camera)).toBe((4095 - 100) * 0.5);
    const full = expose(20_000, camera, 'output end');
    expect(full.every((e) => e >= saturationE(camera))).toBe(true);
  });

  test('saturationE is four times the noise below a full well that comes first', () => {
    const camera = { ...wide, fullWellE: 5000 };
    expectWithin(saturationE(camera), 5000 - 4 * Math.sqrt(9 + 1 / 12), 1e-12, 'rounding');
    const missed = expose(20_000, camera, 'full').filter((e) => e < saturationE(camera)).length;
    // A normal number is below -4 with a chance of 3.2e-5: 1.3 of these pixels, and 9 with a chance of 1e-5.
    expect(missed).toBeLessThan(9);
    const flagged = expose(4000, camera, 'not full').filter((e) => e >= saturationE(camera)).length;
    expect(flagged).toBe(0); // 15 standard deviations away
  });

  test('saturationE allows for pixels that deliver less when full', () => {
    const camera: Camera = { ...wide, fullWellE: 5000, prnu: 0.02, dsnuE: 20 };
    expectWithin(
      saturationE(camera),
      5000 - 4 * Math.sqrt(9 + 1 / 12 + 100 ** 2 + 20 ** 2),
      1e-12,
      'rounding',
    );
    const missed = expose(20_000, camera, 'uneven').filter((e) => e < saturationE(camera)).length;
    expect(missed).toBeLessThan(9); // as above: 1.3 of these pixels
  });

  test('saturationE stays above half of a tiny full well', () => {
    expect(saturationE({ ...wide, readNoiseE: 100, fullWellE: 200 })).toBe(100);
  });
});

describe('ADU', () => {
  const camera = { ...defaultCamera, gainEPerAdu: 0.37 };

  test('a frame is whole ADU, and goes to ADU and back unchanged', () => {
    const frame = exposeFrame(flat(30), camera, randomStream('adu'));
    const adu = frameToAdu(frame, camera);
    expect(adu.data.every((v) => Number.isInteger(v) && v >= 0 && v <= 4095)).toBe(true);
    expect(aduToElectrons(adu, camera).data).toEqual(frame.data);
  });

  test('frameToAdu rounds and cuts what is not a frame', () => {
    const image = createImage(3, 2, new Float64Array([0, 0.2, 0.18, -1e6, 1e6, -3.7]));
    const before = image.data.slice();
    expect([...frameToAdu(image, camera).data]).toEqual([100, 101, 100, 0, 4095, 90]);
    expect(image.data).toEqual(before);
  });

  test('pixels that are not numbers are refused with their position', () => {
    const image = createImage(3, 2);
    image.set(1, 2, Number.NaN);
    expect(() => frameToAdu(image, camera)).toThrow(
      new RangeError('frame must be finite everywhere, got NaN at x = 2, y = 1'),
    );
    expect(() => aduToElectrons(image, camera)).toThrow(
      /frameAdu must be finite everywhere, got NaN at x = 2/,
    );
  });
});

describe('calls', () => {
  test('exposeInto makes the frames of exposeFrame, also onto the expected pixels themselves', () => {
    const expected = Float64Array.from({ length: 35 }, (_, k) => k);
    const image = createImage(7, 5, expected.slice());
    const frame = exposeFrame(image, defaultCamera, randomStream('into'));
    expect(frame.shape).toEqual([5, 7]);
    expect(image.data).toEqual(expected);
    const out = new Float64Array(35);
    const exposure = prepareExposure(defaultCamera, { width: 7, height: 5 });
    exposure.exposeInto(out, expected, randomStream('into'));
    expect(out).toEqual(frame.data);
    exposure.exposeInto(expected, expected, randomStream('into'));
    expect(expected).toEqual(frame.data);
  });

  test('a transposed view is read as the image it shows', () => {
    const pixels = Float64Array.from({ length: 35 }, (_, k) => 1000 * k);
    const view = ndarray(pixels, [7, 5]).transpose(1, 0) as Image;
    const plain = createImage(7, 5);
    for (let y = 0; y < 5; y++) for (let x = 0; x < 7; x++) plain.set(y, x, view.get(y, x));
    const stream = () => randomStream('view');
    expect(exposeFrame(view, wide, stream()).data).toEqual(exposeFrame(plain, wide, stream()).data);
  });

  test('dark current and exposure may be left out: none, and 1 s', () => {
    const { darkEPerS: _, exposureS: __, ...bare } = defaultCamera;
    expect(expose(5, bare, 0)).toEqual(expose(5, { ...bare, darkEPerS: 0, exposureS: 1 }, 0));
    expect(expose(5, { ...bare, darkEPerS: 2 }, 0)).toEqual(expose(7, bare, 0));
  });

  test('what is switched off changes nothing, to the last bit', () => {
    const off: Camera = {
      ...wide,
      readNoiseTail: { fraction: 0, noiseRatio: 5 },
      rowNoiseE: 0,
      prnu: 0,
      dsnuE: 0,
      hotPixels: { fraction: 0, meanEPerS: 50 },
      cosmicRays: { ratePerCm2PerMin: 0, pixelSizeUm: 4 },
      nonLinearity: { kneeFraction: 0, lossAtFullWell: 0 },
      binning: { factor: 1, when: 'before-read' },
      sensorSeed: 7,
    };
    expect(expose(20, off, 'off')).toEqual(expose(20, wide, 'off'));
    expect(pixelNoiseE(off)).toBe(pixelNoiseE(wide));
    expect(saturationE(off)).toBe(saturationE(wide));
  });

  test.each([-0.001, Number.NaN, Infinity, 2e12])(
    'an expected pixel of %d is refused with its position',
    (bad) => {
      const image = flat(1);
      image.set(3, 17, bad);
      const call = () => exposeFrame(image, defaultCamera, randomStream(1));
      expect(call).toThrow(RangeError);
      expect(call).toThrow(`expected must be in [0, 1000000000000], got ${bad} at x = 17, y = 3`);
    },
  );

  test.each([
    [{ readNoiseE: -1 }, 'camera.readNoiseE must be a finite number >= 0, got -1'],
    [{ gainEPerAdu: 0 }, 'camera.gainEPerAdu must be a finite number > 0, got 0'],
    [{ bitDepth: 12.5 }, 'camera.bitDepth must be a whole number from 1 to 32, got 12.5'],
    [{ offsetAdu: 4095 }, 'camera.offsetAdu must be a whole number from 0 to 4094, got 4095'],
    [{ fullWellE: Number.NaN }, 'camera.fullWellE must be a finite number > 0, got NaN'],
    [{ darkEPerS: -2 }, 'camera.darkEPerS must be a finite number >= 0, got -2'],
    [{ exposureS: Infinity }, 'camera.exposureS must be a finite number >= 0, got Infinity'],
  ])('a camera of %o is refused', (wrong, message) => {
    const camera = { ...defaultCamera, ...wrong };
    expect(() => prepareExposure(camera, { width: 4, height: 3 })).toThrow(new RangeError(message));
    expect(() => pixelNoiseE(camera)).toThrow(message);
  });

  test('arrays of the wrong size are refused', () => {
    const exposure = prepareExposure(defaultCamera, { width: 4, height: 3 });
    const call = () => exposure.exposeInto(new Float64Array(12), new Float64Array(11), randomStream(1));
    expect(call).toThrow('expected must have width * height = 12 values, got 11');
    expect(() => exposure.exposeInto([] as never, new Float64Array(12), randomStream(1))).toThrow(TypeError);
  });
});
