/**
 * Frames by one look into a table a pixel: the distribution is that of photons, read noise and rounding,
 * which is worked out here anew, and that of the frames drawn source by source.
 */
import { type Camera, defaultCamera, prepareExposure, randomStream } from '@holdfast/psf';
import { prepareOneDraw } from '@holdfast/psf/internal';
import { describe, expect, test } from 'vitest';
import {
  highestCountOf,
  largestTabulatedMean,
  PixelTables,
} from '../../packages/psf/src/camera/pixel-tables.ts';
import { CondensedTables, drawOn, slotsPerTable } from '../../packages/psf/src/chance/condensed-tables.ts';
import { logPoisson } from '../../packages/psf/src/chance/poisson.ts';
import { expectWithin, expectWithinSigmas } from '../expect-within.ts';
import { chiSquare, correlation, moments, poissonProbabilities } from './goodness-of-fit.ts';
import { normalCdf } from './normal-cdf.ts';

/** Probability of each value of a table as its slots and its rest give it, by asking for every slot. */
function shares(tables: CondensedTables, table: number): Map<number, number> {
  const found = new Map<number, number>();
  const add = (value: number, share: number) => found.set(value, (found.get(value) ?? 0) + share);
  const slots = tables.slots.subarray(table * slotsPerTable, (table + 1) * slotsPerTable);
  const sentOn = slots.filter((value) => value === drawOn).length / slotsPerTable;
  for (const value of slots) if (value !== drawOn) add(value, 1 / slotsPerTable);
  const random = randomStream(0);
  const steps = 40_000;
  for (let slot = 0; slot < 256; slot++) {
    let searched = 0;
    const draw = (i: number) => {
      Object.assign(random, {
        word: () => slot << 24,
        uniform: () => {
          searched++;
          return (i + 0.5) / steps;
        },
      });
      return tables.rest(table, random);
    };
    const value = draw(0);
    if (searched === 0) add(value, sentOn / 256);
    else for (let i = 0; i < steps; i++) add(draw(i), sentOn / (256 * steps));
  }
  return found;
}

/** P(n) of a pixel, n in ADU above the offset, worked out without any table of the library. */
function pixelProbability(mean: number, { readNoiseE, gainEPerAdu }: Camera, n: number): number {
  const { first, probabilities } = poissonProbabilities(mean);
  const sigma = readNoiseE / gainEPerAdu;
  return probabilities.reduce((sum, p, i) => {
    const z = n - (first + i) / gainEPerAdu;
    return sum + p * (normalCdf((z + 0.5) / sigma) - normalCdf((z - 0.5) / sigma));
  }, 0);
}

describe('condensed tables', () => {
  test('give every value its probability, whole slots and rest together', () => {
    const p = [0.5, 0.2501, 0.1 + 0.4 / 1024, 0.09, 1e-5, 0.03, 0.0002];
    const sum = p.reduce((a, b) => a + b, 0);
    const tables = new CondensedTables(3);
    tables.set(1, -2, Float64Array.from([...p, 7]), p.length);
    const found = shares(tables, 1);
    // Each of the 40,000 steps of the search is worth (share sent on) / (256 * 40,000).
    p.forEach((each, i) => {
      expectWithin(found.get(i - 2) ?? 0, each / sum, 2e-8, 'steps of the rest');
    });
    expect(found.size).toBe(p.length);
    expect([tables.has(0), tables.has(1), tables.has(2)]).toEqual([false, true, false]);
  });

  test('need no rest where the probabilities are whole slots', () => {
    const tables = new CondensedTables(1);
    tables.set(0, 5, Float64Array.of(0.25, 0.75), 2);
    expect(tables.slots.filter((value) => value === 5).length).toBe(256);
    expect(tables.slots.filter((value) => value === 6).length).toBe(768);
  });
});

describe('tables of a pixel', () => {
  test.each([
    [1.5, 1],
    [3, 0.5],
    [1.2, 0.37],
    [0.4, 2.5],
  ])('hold photons, read noise %d and rounding to %d electrons', (readNoiseE, gainEPerAdu) => {
    const camera = { ...defaultCamera, readNoiseE, gainEPerAdu };
    const tables = new PixelTables(readNoiseE, gainEPerAdu);
    for (const [wished, darkest] of [
      [0, 0],
      [0.02, 0],
      [1.85, 0.3],
      [17.3, 0.3],
      [0.3013, 0.3],
      [7.123, 7.1229],
    ]) {
      const least = tables.darkest(darkest);
      // A step of the square root, 1 / 4096, below the darkest pixel at most.
      expect(tables.meanOf(least)).toBeLessThanOrEqual(darkest);
      expect(Math.sqrt(darkest) - Math.sqrt(tables.meanOf(least))).toBeLessThan(1 / 4096 + 1e-12);
      const table = tables.below(wished, least);
      const mean = tables.meanOf(table);
      expect(mean).toBeLessThanOrEqual(wished);
      if (table === least) expect(Math.sqrt(wished) - Math.sqrt(darkest)).toBeLessThan(1 / 64);
      else expect(tables.meanOf(table + 1)).toBeGreaterThan(wished);
      for (const [value, share] of shares(tables.distributions, table))
        expectWithin(share, pixelProbability(mean, camera, value), 2.5e-7, `mean ${mean}, ${value} ADU`);
    }
  });

  test('leave out only counts below 1e-20', () => {
    for (let i = 0; i < 4000; i++) {
      const mean = ((i + 1) / 4000) ** 2 * largestTabulatedMean;
      // Beyond the mean each further count is less probable by mean / k: the tail is below its first term
      // times 20 here.
      expect(logPoisson(highestCountOf(mean) + 1, mean) + Math.log(20)).toBeLessThan(Math.log(1e-20));
    }
  });
});

const size = { width: 24, height: 19 };
const pixels = size.width * size.height;

/** The value of pixels of one mean in many frames. */
function sample(camera: Camera, light: (k: number) => number, frames: number): Float64Array[] {
  const plan = prepareOneDraw(camera, size);
  if (!plan) throw new Error('the camera has no such plan');
  const prepared = plan.prepareLight(Float64Array.from({ length: pixels }, (_, k) => light(k)));
  return Array.from({ length: frames }, (_, i) => {
    const out = new Float64Array(pixels);
    plan.exposeInto(out, prepared, randomStream('one draw', i));
    return out;
  });
}

function fit(frames: readonly Float64Array[], camera: Camera, mean: number) {
  const { gainEPerAdu, readNoiseE } = camera;
  const reach = Math.ceil((6 * Math.sqrt(mean + readNoiseE ** 2)) / gainEPerAdu) + 2;
  const middle = Math.round(mean / gainEPerAdu);
  const first = middle - reach;
  const probabilities = Array.from({ length: 2 * reach + 1 }, (_, i) =>
    pixelProbability(mean, camera, first + i),
  );
  const counts = new Array<number>(probabilities.length).fill(0);
  let others = 0;
  for (const frame of frames)
    for (const electrons of frame) {
      const i = Math.round(electrons / gainEPerAdu) - first;
      if (i >= 0 && i < counts.length) counts[i]++;
      else others++;
    }
  return chiSquare(counts, probabilities, others);
}

describe('frames by one look a pixel', () => {
  const cameras: Record<string, Camera> = {
    'one electron a step': defaultCamera,
    'half an electron a step': { ...defaultCamera, gainEPerAdu: 0.5, readNoiseE: 3 },
    'steps that are no whole part of an electron': { ...defaultCamera, gainEPerAdu: 0.37, readNoiseE: 1.2 },
    'steps of several electrons': { ...defaultCamera, gainEPerAdu: 2.5, readNoiseE: 4 },
    'eight bits': { ...defaultCamera, bitDepth: 8, offsetAdu: 20 },
  };
  for (const [name, camera] of Object.entries(cameras))
    test.each([0, 0.003, 1.85, 9.71, 40.4, 63.9])(`fit the distribution: ${name}, mean %d`, (mean) => {
      const frames = sample(camera, () => mean, 400);
      const good = fit(frames, camera, mean);
      expect(good.statistic).toBeLessThan(good.critical);
      // A mean that is wrong by 12 standard errors is told.
      const variance = mean + camera.readNoiseE ** 2;
      const wrong = fit(frames, camera, mean + 12 * Math.sqrt(variance / (400 * pixels)));
      expect(wrong.statistic).toBeGreaterThan(wrong.critical);
    });

  const wide = { ...defaultCamera, bitDepth: 16, fullWellE: 60_000 };
  test.each([300, 1023.9, 1024.1, 5000])('have mean, variance and skewness of bright light: %d', (mean) => {
    const all = Float64Array.from(sample(wide, () => mean, 200).flatMap((frame) => [...frame]));
    const m = moments(all);
    const variance = mean + 1.5 ** 2 + 1 / 12;
    expectWithinSigmas(m.mean, mean, Math.sqrt(variance / all.length), 4);
    expectWithinSigmas(m.variance, variance, variance * Math.sqrt(2 / all.length), 4);
    expectWithinSigmas(m.skewness, mean / variance ** 1.5, Math.sqrt(6 / all.length), 4);
  });

  test('agree pixel by pixel with frames drawn source by source, dark electrons and all', () => {
    const camera = { ...defaultCamera, darkEPerS: 0.7, exposureS: 2 };
    const light = (k: number) => 0.4 * (k % 29) + (k === 77 ? 3000 : 0) + (k === 100 ? 80 : 0);
    const frames = sample(camera, light, 3000);
    const exposure = prepareExposure(camera, size);
    const expected = Float64Array.from({ length: pixels }, (_, k) => light(k));
    const plain = frames.map((_, i) => {
      const out = new Float64Array(pixels);
      exposure.exposeInto(out, expected, randomStream('plain', i));
      return out;
    });
    let chance = 0;
    let spread = 0;
    for (let k = 0; k < pixels; k++) {
      const a = moments(Float64Array.from(frames, (frame) => frame[k]));
      const b = moments(Float64Array.from(plain, (frame) => frame[k]));
      chance += (a.mean - b.mean) ** 2 / ((a.variance + b.variance) / frames.length);
      spread += Math.log(a.variance / b.variance) ** 2 / (4 / frames.length);
    }
    // Both sums are chi-squares of `pixels` terms: their relative standard deviation is sqrt(2 / pixels).
    expectWithinSigmas(chance / pixels, 1, Math.sqrt(2 / pixels), 4);
    expectWithinSigmas(spread / pixels, 1, 1.2 * Math.sqrt(2 / pixels), 4);
  });

  test('have pixels that know nothing of each other, nor of the next frame', () => {
    const frames = sample(defaultCamera, () => 1.87, 1500);
    const of = (k: number, from = 0) => Float64Array.from(frames.slice(from), (frame) => frame[k]);
    let sum = 0;
    let pairs = 0;
    // Three pixels share a word of random bits.
    for (let k = 0; k + 24 < pixels; k++)
      for (const step of [1, 2, 3, 24]) {
        sum += correlation(of(k), of(k + step)) ** 2;
        pairs++;
      }
    expectWithinSigmas((sum / pairs) * frames.length, 1, Math.sqrt(2 / pairs), 4);
    const next = Array.from(
      { length: pixels },
      (_, k) => correlation(of(k, 1), of(k).subarray(0, 1499)) ** 2,
    );
    expectWithinSigmas(
      (next.reduce((a, b) => a + b, 0) / pixels) * frames.length,
      1,
      Math.sqrt(2 / pixels),
      4,
    );
  });

  test('are a function of the stream', () => {
    const [a, b] = [sample(defaultCamera, (k) => k, 3), sample(defaultCamera, (k) => k, 3)];
    expect(a).toEqual(b);
    expect(a[0]).not.toEqual(a[1]);
  });

  test('take over the camera whatever was drawn before: light, size and order do not matter', () => {
    const plan = prepareOneDraw(defaultCamera, size);
    if (!plan) throw new Error('no plan');
    const dim = plan.prepareLight(new Float64Array(pixels).fill(2.2));
    const first = new Float64Array(pixels);
    plan.exposeInto(first, dim, randomStream('again'));
    const out = new Float64Array(pixels);
    plan.exposeInto(out, plan.prepareLight(Float64Array.from(out, (_, k) => 3 * k)), randomStream('other'));
    plan.exposeInto(out, dim, randomStream('again'));
    expect(out).toEqual(first);
  });

  test.each<[string, Partial<Camera>]>([
    ['rows', { rowNoiseE: 1 }],
    ['response', { prnu: 0.01 }],
    ['offsets', { dsnuE: 1 }],
    ['hot pixels', { hotPixels: { fraction: 0.1, meanEPerS: 10 } }],
    ['cosmic rays', { cosmicRays: { ratePerCm2PerMin: 1, pixelSizeUm: 3.75 } }],
    ['binning', { binning: { factor: 2, when: 'after-read' } }],
    ['noise that the offset cuts off', { offsetAdu: 10 }],
    ['a well of a few electrons', { fullWellE: 10 }],
    ['no read noise', { readNoiseE: 0 }],
  ])('are not offered for a camera with %s', (_, change) => {
    expect(prepareOneDraw({ ...defaultCamera, ...change }, size)).toBeUndefined();
  });

  test('refuse light that is none, and arrays of another size', () => {
    const plan = prepareOneDraw(defaultCamera, size);
    const light = new Float64Array(pixels).fill(1);
    light[25] = -1;
    expect(() => plan?.prepareLight(light)).toThrow('got -1 at x = 1, y = 1');
    expect(() => plan?.prepareLight(new Float64Array(3))).toThrow('expected must have width * height = 456');
    expect(() => prepareOneDraw({ ...defaultCamera, readNoiseE: -1 }, size)).toThrow('camera.readNoiseE');
  });
});

test('a bright pixel is the same, whatever frames were drawn before', () => {
  const camera = { ...defaultCamera, readNoiseE: 2.37, darkEPerS: 0 };
  const size = { width: 40, height: 30 };
  const plan = prepareOneDraw(camera, size);
  if (plan === undefined) throw new Error('the camera has no tables');
  const light = plan.prepareLight(Float64Array.from({ length: 1200 }, (_, k) => (k % 3 === 0 ? 3000 : 5)));
  const draw = () =>
    Array.from({ length: 20 }, (_, i) => {
      const out = new Float64Array(1200);
      plan.exposeInto(out, light, randomStream('bright', i));
      return [...out];
    });
  const before = draw();
  // Its table is the first one, where a bright pixel looks, too.
  plan.prepareLight(new Float64Array(1200));
  expect(draw()).toEqual(before);
});
