/**
 * The loops that are compiled to WebAssembly against those in TypeScript that they stand for: the same bits,
 * and these alone where an engine has none. Both versions of the library are loaded, one of them in an engine
 * that refuses.
 */
import { readFileSync } from 'node:fs';
import { type Camera, createImage, defaultCamera, randomStream, renderStar } from '@holdfast/psf';
import { afterAll, afterEach, beforeAll, describe, expect, test, vi } from 'vitest';
import { kernelNames, kernelSource, kernelTarget } from '../packages/kernel.ts';
import { boxesCode } from '../packages/psf/src/kernel/boxes-code.ts';
import { kernelCode } from '../packages/psf/src/kernel/kernel-code.ts';

const load = async () => ({
  psf: await import('@holdfast/psf/internal'),
  centroid: await import('@holdfast/centroid'),
  inner: await import('@holdfast/centroid/internal'),
  sums: await import('../packages/sim/src/trials/image-sums.ts'),
  boxes: await import('../packages/centroid/src/search/box-row.ts'),
  tables: await import('../packages/centroid/src/search/table-memory.ts'),
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
  // It asks the engine once for each module, and is refused.
  plain.sums.useCompiledSums();
  expect(plain.psf.createLoops()).toBeUndefined();
  expect(plain.tables.tableMemory(300, 300).loops).toBeUndefined();
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

test('each module is that of its source, and small enough for the first thread of any page', () => {
  for (const name of kernelNames)
    expect(readFileSync(kernelTarget(name), 'utf8')).toContain(kernelSource(name));
  // Some browsers compile no more than 4 kB there while the page waits.
  for (const code of [kernelCode, boxesCode]) expect(atob(code).length).toBeLessThan(4096);
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

describe('the search for stars', () => {
  test('finds the same boxes in rows of any length and step', () => {
    const [rows, stride] = [200, 401];
    const [a, b] = [compiled, plain].map(({ tables }) => tables.tableMemory(rows, stride));
    expect(a.loops).toBeDefined();
    expect(b.loops).toBeUndefined();
    let reaching = 0;
    for (let i = 0; i < 400; i++) {
      const random = randomStream('boxes', i);
      for (let k = 0; k < b.light.length; k++) b.light[k] = random.normal();
      a.light.set(b.light);
      const side = whole(random, 3, 99);
      const row = {
        side,
        upper: stride * whole(random, 1, rows - 1),
        lower: stride * whole(random, 1, rows - 1),
        outerUpper: stride * whole(random, 1, rows - 1) - side,
        outerLower: stride * whole(random, 1, rows - 1) - side,
        ofInside: random.uniform(),
        ofAll: random.uniform(),
      };
      const from = whole(random, side, 200);
      const range = [from, whole(random, from, stride - 2 * side), whole(random, 1, 9)] as const;
      const [found, expected] = [
        { boxes: compiled.boxes, memory: a },
        { boxes: plain.boxes, memory: b },
      ].map(({ boxes, memory }) => {
        // One that just reaches it belongs to them.
        const least = boxes.contrastInRow(b.light, row, from);
        const count = boxes.findReaching(memory, row, ...range, least);
        return [...memory.columns.subarray(0, count)];
      });
      expect(found).toEqual(expected);
      reaching += expected.length;
    }
    expect(reaching).toBeGreaterThan(2000);
  });

  test('finds the same stars, one frame after the other, missing pixels among them or not', () => {
    let stars = 0;
    for (let i = 0; i < 6; i++) {
      const random = randomStream('search', i);
      // Another size each time: the memory of the frame before serves it where it is large enough.
      const image = createImage(whole(random, 300, 420), whole(random, 260, 300));
      const [height, width] = image.shape;
      for (let k = 0; k < image.data.length; k++) image.data[k] = 5 * random.normal();
      for (let n = 0; n < 12; n++) {
        const place = { x: width * random.uniform(), y: height * random.uniform(), width, height };
        const shape = { kind: 'gaussian', fwhmPx: 2 + 10 * random.uniform() } as const;
        const star = renderStar(shape, { ...place, flux: 20000 });
        for (let k = 0; k < image.data.length; k++) image.data[k] += star.data[k];
      }
      if (i % 2 === 1) image.data[image.data.length >> 1] = Number.NaN;
      const [a, b] = [compiled, plain].map(({ centroid }) => centroid.locateStar(image));
      expect(a).toEqual(b);
      stars += a.length;
    }
    expect(stars).toBeGreaterThan(40);
  });
});
