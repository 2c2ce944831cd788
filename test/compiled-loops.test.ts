/**
 * The loops that are compiled to WebAssembly against those in TypeScript that they stand for: the same bits,
 * and these alone where an engine has none. Both versions of the library are loaded, one of them in an engine
 * that refuses.
 */
import { readFileSync } from 'node:fs';
import { type Camera, defaultCamera, randomStream } from '@holdfast/psf';
import { afterAll, afterEach, beforeAll, describe, expect, test, vi } from 'vitest';
import { kernelSource } from '../packages/kernel.ts';
import { kernelCode } from '../packages/psf/src/kernel/kernel-code.ts';

const load = async () => ({
  psf: await import('@holdfast/psf/internal'),
  centroid: await import('@holdfast/centroid'),
  inner: await import('@holdfast/centroid/internal'),
  sums: await import('../packages/sim/src/trials/image-sums.ts'),
});
type Library = Awaited<ReturnType<typeof load>>;

let compiled: Library;
let plain: Library;
/** Images that the compiled loops have summed. */
let summed = 0;

beforeAll(async () => {
  compiled = await load();
  const sum = compiled.sums.compiledSums();
  compiled.inner.setSumImage((...image) => {
    const isDone = sum?.(...image) ?? false;
    summed += Number(isDone);
    return isDone;
  });
  vi.resetModules();
  vi.stubGlobal('WebAssembly', {
    Module: class {
      constructor() {
        throw new Error('the policy of the page forbids it');
      }
    },
  });
  plain = await load();
  // It asks the engine once, and is refused.
  plain.sums.useCompiledSums();
  expect(plain.psf.createLoops()).toBeUndefined();
  vi.unstubAllGlobals();
});

afterEach(() => vi.restoreAllMocks());
afterAll(() => vi.resetModules());

test('this engine has what the compiled loops need, and they have memories of their own', () => {
  const [a, b] = [compiled.psf.createLoops(), compiled.psf.createLoops()];
  expect(a?.memory.buffer.byteLength).toBeGreaterThanOrEqual(a?.slotsAt.value ?? Infinity);
  expect(a?.memory).not.toBe(b?.memory);
});

test('an engine without WebAssembly goes without', async () => {
  vi.resetModules();
  vi.stubGlobal('WebAssembly', undefined);
  const { createLoops } = await import('@holdfast/psf/internal');
  expect(createLoops()).toBeUndefined();
  vi.unstubAllGlobals();
});

test('the module is that of its source, and small enough for the first thread of any page', () => {
  const file = readFileSync(new URL('../packages/psf/src/kernel/kernel-code.ts', import.meta.url), 'utf8');
  expect(file).toContain(kernelSource());
  // Some browsers compile no more than 4 kB there while the page waits.
  expect(atob(kernelCode).length).toBeLessThan(4096);
});

/** A whole number from `low` to `high`. */
const whole = (random: { uniform(): number }, low: number, high: number): number =>
  low + Math.floor(random.uniform() * (high - low + 1));

describe('frames', () => {
  const cameras: Record<string, Partial<Camera>> = {
    'one electron per step': {},
    'half an electron per step': { gainEPerAdu: 0.5, readNoiseE: 3 },
    'steps that are no whole part of an electron': { gainEPerAdu: 0.37, readNoiseE: 1.2 },
    'steps of several electrons': { gainEPerAdu: 2.5, readNoiseE: 4 },
    'eight bits, soon saturated': { bitDepth: 8, offsetAdu: 20 },
  };

  test.each(Object.entries(cameras))('have the same bits: %s', (name, change) => {
    const camera = { ...defaultCamera, ...change };
    const { memory } = compiled.psf.pixelTables(camera.readNoiseE, camera.gainEPerAdu);
    expect(memory.mostPixels).toBeGreaterThan(0);
    const looks = vi.spyOn(memory, 'lookUp');
    for (let i = 0; i < 24; i++) {
      const random = randomStream(name, i);
      const size = { width: whole(random, 1, 41), height: whole(random, 1, 37) };
      // From next to none to more than a table holds.
      const faint = 10 ** (5 * random.uniform() - 3);
      const light = Float64Array.from({ length: size.width * size.height }, () =>
        random.uniform() < 0.03 ? 3000 * random.uniform() : faint * random.uniform(),
      );
      const [a, b] = [compiled, plain].map(({ psf }) => {
        const plan = psf.prepareOneDraw(camera, size);
        if (plan === undefined) throw new Error('the camera has no tables');
        const prepared = plan.prepareLight(light);
        const streamOf = psf.numberedStreams(name, i);
        return Array.from({ length: 5 }, (_, trial) => {
          const out = new Float64Array(light.length);
          const stream = streamOf(trial);
          plan.exposeInto(out, prepared, stream);
          // What is drawn after the frame is the same, too.
          return [...out, stream.word()];
        });
      });
      expect(a).toEqual(b);
    }
    expect(looks).toHaveBeenCalledTimes(24 * 5);
    expect(plain.psf.pixelTables(camera.readNoiseE, camera.gainEPerAdu).memory.mostPixels).toBe(0);
  });

  test('go on when more tables are needed than there was room for', () => {
    const size = { width: 3, height: 2 };
    const camera = { ...defaultCamera, readNoiseE: 1.9 };
    const [a, b] = [compiled, plain].map(({ psf }) => {
      const plan = psf.prepareOneDraw(camera, size);
      if (plan === undefined) throw new Error('the camera has no tables');
      const streamOf = psf.numberedStreams('more');
      const lightOf = (mean: number) => plan.prepareLight(new Float64Array(6).fill(mean));
      const first = lightOf(2.5);
      const { distributions } = psf.pixelTables(camera.readNoiseE, camera.gainEPerAdu);
      const room = distributions.slots.length;
      const pixels = new Float64Array(6);
      const seen: number[] = [];
      // Each darkest pixel has a table of its own.
      for (let i = 1; distributions.slots.length === room; i++) {
        plan.exposeInto(pixels, lightOf(0.01 * i), streamOf(i));
        seen.push(...pixels);
      }
      plan.exposeInto(pixels, first, streamOf(0));
      return [...seen, ...pixels];
    });
    expect(a).toEqual(b);
    expect(a.length).toBeGreaterThan(1000);
  });
});

describe('centers of mass', () => {
  const options = { noise: { readNoiseE: 1.5 }, minSnr: 0, predictsError: false };

  /** By both, and whether the compiled loops have summed it. */
  const both = (
    size: { width: number; height: number },
    image: Float64Array,
    background: number,
    more: { readonly threshold?: number; readonly saturationE?: number },
  ) => {
    const before = summed;
    const { threshold, ...rest } = more;
    const [a, b] = [compiled, plain].map(({ centroid }) => {
      const measure =
        threshold === undefined
          ? centroid.prepareCenterOfMass(size, { ...options, ...rest })
          : centroid.prepareThresholdedCenterOfMass(size, { ...options, ...rest, threshold });
      return measure(image, undefined, background);
    });
    expect(a).toEqual(b);
    return summed > before;
  };

  test('have the same bits at every size, above a threshold and of all pixels', () => {
    let byThem = 0;
    for (let i = 0; i < 400; i++) {
      const random = randomStream('sums', i);
      const size = { width: whole(random, 2, 39), height: whole(random, 2, 39) };
      const scale = 10 ** (8 * random.uniform() - 2);
      const image = Float64Array.from(
        { length: size.width * size.height },
        () => scale * (random.normal() + (random.uniform() < 0.2 ? 5 : 0.3)),
      );
      const background = scale * random.normal();
      const threshold = scale * 2 * random.uniform();
      if (both(size, image, background, i % 2 === 0 ? { threshold } : {})) byThem++;
    }
    expect(byThem).toBeGreaterThan(300);
  });

  test.each([Number.NaN, Infinity, -Infinity, 1e31, 5000])('and with a pixel of %d', (odd) => {
    const size = { width: 9, height: 7 };
    for (const at of [0, 31, 62]) {
      const image = Float64Array.from({ length: 63 }, (_, k) => (k * 37) % 50);
      expect(both(size, image, 3, { threshold: 4, saturationE: 4000 })).toBe(true);
      image[at] = odd;
      for (const more of [{ threshold: 4 }, {}])
        expect(both(size, image, 3, { ...more, saturationE: 4000 })).toBe(false);
    }
  });
});
