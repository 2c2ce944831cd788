import { gzipSync } from 'node:zlib';
import { randomStream, renderStar } from '@holdfast/psf';
import { measureSequence, readFrameFile } from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
import { readOpenData } from '../../open-data.ts';
import { fitsUnit, mandatoryCards, storedValues } from './fits-bytes.ts';
import { read, refusal } from './read-or-refused.ts';
import { tiffFile } from './tiff-bytes.ts';

/** Written by other programs, 6 x 4 pixels: the commands stand in `test/data/README.md`. */
const film = (name: string): Uint8Array => readOpenData(`films/${name}`);

const pixels = (valueAt: (x: number, y: number) => number): number[] =>
  Array.from({ length: 24 }, (_, k) => valueAt(k % 6, Math.floor(k / 6)));
const grayAt = (n: number) => pixels((x, y) => 40 * x + 7 * y + 3 * n);
const gray16At = (n: number) => pixels((x, y) => 5000 * x + 700 * y + 3 + n);
const red = (x: number, y: number) => 10 * x + y;
const green = (x: number, y: number) => 20 * y + x;

describe('pictures and films that other programs wrote', () => {
  test.each([
    ['gray.y4m', 'y4m', 2, grayAt, { bitpix: 8, saturationAdu: 235, framesInFile: 3, sinceFirstS: 0.08 }],
    ['gray16.y4m', 'y4m', 1, gray16At, { bitpix: 16, saturationAdu: 60160, framesInFile: 3 }],
    ['yuv420.y4m', 'y4m', 0, grayAt, { bitpix: 8, framesInFile: 2 }],
    ['gray.avi', 'avi', 2, grayAt, { bitpix: 8, saturationAdu: 255, framesInFile: 3, sinceFirstS: 0.08 }],
    ['yuv420.avi', 'avi', 0, grayAt, { bitpix: 8, saturationAdu: 235, framesInFile: 2 }],
    ['many.pgm', 'netpbm', 2, grayAt, { bitpix: 8, saturationAdu: 255, framesInFile: 3 }],
    ['gray16.pgm', 'netpbm', 0, gray16At, { bitpix: 16, saturationAdu: 65535 }],
    ['digits.pgm', 'netpbm', 0, gray16At, { bitpix: 16, saturationAdu: 65535 }],
  ] as const)('%s (%s), frame %i', async (name, kind, page, valuesOf, told) => {
    const frame = await read(film(name), { page });
    expect(Array.from(frame.image.data)).toEqual(valuesOf(page));
    expect(frame.image.shape).toEqual([4, 6]);
    expect(frame).toMatchObject({ kind, hduIndex: page, ...told });
    expect(frame.warnings.join('\n')).toContain('does not say whether its values are proportional');
    const inside = gzipSync(film(name));
    expect((await read(new Uint8Array(inside), { page })).image.data).toEqual(frame.image.data);
  });
  test.each(['color.avi', 'color.ppm', 'digits.ppm'])('%s: colors', async (name) => {
    for (const [color, valueAt] of [
      ['red', red],
      ['green', green],
    ] as const)
      expect(Array.from((await read(film(name), { color })).image.data)).toEqual(pixels(valueAt));
  });
  test('a palette gives the colors that its writer decodes', async () => {
    for (const page of [0, 1, 2])
      for (const color of ['sum', 'blue'] as const)
        expect((await read(film('palette.avi'), { page, color })).image.data).toEqual(
          (await read(film('palette.ppm'), { page, color })).image.data,
        );
  });
  test('video of brightness and colors gives its brightness', async () => {
    const frame = await read(film('yuyv.avi'));
    // the writer's own conversion rounds
    for (const [k, value] of frame.image.data.entries())
      expect(Math.abs(value - grayAt(0)[k]!)).toBeLessThanOrEqual(1);
    expect(frame.warnings).toContain('AVI: the brightness was taken, and the colors left out');
  });
});

describe('what is not read is named, with what to do', () => {
  test.each([
    ['mjpeg.avi', /^unsupported: AVI: its video is stored as "MJPG".*: save it without compression/],
    ['film.mp4', /^unknown-kind: .*an MP4 or QuickTime film: its compression alters faint light/],
  ])('%s', async (name, message) => {
    expect(await refusal(film(name))).toMatch(message);
  });
  test.each([
    [[0xff, 0xd8, 0xff, 0xe0], /JPEG picture: its compression alters faint light: save frames as FITS/],
    [[0x42, 0x5a, 0x68, 0x39], /bzip2 archive: unpack it first/],
    [[0x50, 0x34, 0x0a], /PBM picture: convert it to FITS/],
    [[0x93, 0x4e, 0x55, 0x4d, 0x50, 0x59], /NumPy array: convert it to FITS/],
    [[1, 2, 3], /neither FITS, PNG, TIFF, PGM, PPM, Y4M nor AVI; it begins with '...' \(01 02 03\)/],
  ])('%j', async (first, message) => {
    expect(await refusal(Uint8Array.from(first))).toMatch(message);
  });
});

const text = (words: string): Uint8Array => new TextEncoder().encode(words);
const joined = (...parts: readonly Uint8Array[]): Uint8Array =>
  Uint8Array.from(parts.flatMap((part) => Array.from(part)));

describe('damage is said with its place', () => {
  test.each([
    ['P5 2 2 255 abc', 'truncated: Netpbm: 2 x 2 pixels take 4 bytes from byte 11 on; 3 are there'],
    ['P5 2 2', 'truncated: Netpbm: the file ends after 6 bytes, within its header'],
    ['P5 2 x 255 abcd', 'damaged: Netpbm: byte 5 of the header must be part of a whole number'],
    ['P5 0 2 255 ', 'damaged: Netpbm: a picture of 0 x 2 pixels'],
    ['P5 2 2 70000 abcd', 'damaged: Netpbm: the highest value must be in 1 ... 65535, is 70000'],
    ['P5 2 2 99 abcz', 'damaged: Netpbm: value 3 is 122, above the highest of 99'],
    ['P2 2 2 9 1 2 3 10', 'damaged: Netpbm: value 3 is 10, above the highest of 9'],
    ['P2 2 2 9 1 2 3    ', 'truncated: Netpbm: the file ends after 3 of 4 values'],
    ['P2 2 2 9 1 2 x 3', 'damaged: Netpbm: byte 13 must be a digit of value 2'],
    ['P2 99999 99999 9 1', 'truncated: Netpbm: 99999 x 99999 pixels take at least 19999600001 bytes'],
    ['YUV4MPEG2 W2 H', 'truncated: Y4M: its first line does not end within 1024 bytes'],
    ['YUV4MPEG2 W2 H-2 Cmono\nFRAME\nabcd', 'damaged: Y4M: a film of W2 H-2 pixels'],
    ['YUV4MPEG2 W2 H2 C999\nFRAME\nabcd', 'unsupported: Y4M: colors stored as C999 are not read'],
    [
      'YUV4MPEG2 W2 H2 Cmono\nFRAME\nabc',
      'truncated: Y4M: a frame of 2 x 2 pixels takes 4 bytes; 3 are there',
    ],
    ['YUV4MPEG2 W2 H2 Cmono\nFRAME\nabcdFRAM', 'damaged: Y4M: frame 1 must begin with FRAME at byte 32'],
  ])('%j', async (bytes, message) => {
    expect(await refusal(text(bytes))).toContain(message);
  });
  test('a film that was cut loses its last frame, and says so', async () => {
    const cut = await read(film('gray.y4m').subarray(0, 120));
    expect(cut.framesInFile).toBe(2);
    expect(cut.warnings).toContain('Y4M: frame 2, from byte 96 on, is not complete: it was left out');
    const whole = film('gray.avi');
    const end = whole.length - 60;
    expect((await read(whole.subarray(0, end), { page: 1 })).framesInFile).toBe(2);
    expect(await refusal(whole.subarray(0, end), { page: 2 })).toBe(
      'no-such-page: AVI: frame 2 is not among its 2 (from 0)',
    );
    expect(await refusal(whole.subarray(0, 150))).toMatch(/^truncated: AVI: no header of a video stream/);
  });
  test('a comment in a header, and more pictures than pixels allow', async () => {
    expect(Array.from((await read(text('P2 # one\n2 1\n# two\n9\n1 2'))).image.data)).toEqual([1, 2]);
    for (const name of ['many.pgm', 'gray.avi', 'gray.y4m'])
      expect(await refusal(film(name), { maxPixels: 23 })).toMatch(
        /^too-large: .*6 x 4 pixels are more than the 23 allowed/,
      );
  });
  test('any damage gives a frame or a reason within a bounded time', async () => {
    const names = ['gray.y4m', 'gray.avi', 'palette.avi', 'many.pgm', 'digits.ppm'];
    let seed = 1;
    const draw = (below: number) => {
      seed = (seed * 48271) % 2147483647;
      return seed % below;
    };
    let refused = 0;
    for (let n = 0; n < 1000; n++) {
      const bytes = film(names[n % names.length]!).slice();
      // the headers of the AVI films end before the first padding
      for (let change = 0; change <= draw(3); change++) bytes[draw(Math.min(bytes.length, 220))] = draw(256);
      const frame = await readFrameFile(bytes, { maxPixels: 1e6 });
      if (!frame.ok) refused++;
      else for (const value of frame.image.data) expect(value).toBeGreaterThanOrEqual(0);
    }
    expect(refused).toBeGreaterThan(200);
    expect(refused).toBeLessThan(900);
  });
});

/** An AVI film of gray values of 16 bits, a form that the writer above does not know (Microsoft's layout). */
function avi16(frames: readonly (readonly number[])[], width: number, height: number): Uint8Array {
  const le32 = (value: number) => [0, 8, 16, 24].map((shift) => (value >>> shift) & 255);
  const chunk = (id: string, ...parts: readonly (readonly number[])[]) => {
    const data = parts.flat();
    return [...text(id), ...le32(data.length), ...data, ...(data.length % 2 === 1 ? [0] : [])];
  };
  const list = (kind: string, ...parts: readonly (readonly number[])[]) =>
    chunk('LIST', [...text(kind)], ...parts);
  const zeros = (count: number) => new Array<number>(count).fill(0);
  const strh = chunk('strh', [...text('vids'), ...text('Y16 ')], zeros(12), le32(1), le32(10), zeros(28));
  const strf = chunk(
    'strf',
    le32(40),
    le32(width),
    le32(height),
    [1, 0, 16, 0],
    [...text('Y16 ')],
    zeros(20),
  );
  const stored = frames.map((frame) =>
    chunk(
      '00dc',
      frame.flatMap((value) => [value & 255, value >> 8]),
    ),
  );
  const sound = chunk('01wb', [1, 2, 3]);
  return Uint8Array.from([
    ...text('RIFF'),
    ...le32(0),
    ...text('AVI '),
    ...list('hdrl', chunk('avih', zeros(56)), list('strl', strh, strf)),
    ...list('movi', list('rec ', stored[0]!, sound), ...stored.slice(1)),
  ]);
}

test('AVI of 16 bits, with sound between, of a recording that was not closed', async () => {
  const bytes = avi16([gray16At(0), gray16At(1)], 6, 4);
  const frame = await read(bytes, { page: 1 });
  expect(Array.from(frame.image.data)).toEqual(gray16At(1));
  expect(frame).toMatchObject({ bitpix: 16, saturationAdu: 65535, framesInFile: 2, sinceFirstS: 0.1 });
  expect(await refusal(avi16([gray16At(0), []], 6, 4), { page: 1 })).toBe(
    'damaged: AVI: frame 1 is empty: the camera or the program dropped it',
  );
});

/** A star of 30,000 electrons that moves by (0.5, -0.25) px per frame, over a background of 100. */
function starFrames(count: number, light = (_: number) => 1): Uint16Array[] {
  return Array.from({ length: count }, (_, n) => {
    const at = { width: 48, height: 40, x: 20 + 0.5 * n, y: 20.25 - 0.25 * n, flux: 30000 * light(n) };
    const { data } = renderStar({ kind: 'gaussian', fwhmPx: 4 }, at);
    const random = randomStream(3, n);
    return Uint16Array.from(data, (value) => Math.round(value + 100 + 4 * random.normal()));
  });
}

describe('a film is a sequence', () => {
  const frames = starFrames(5);
  const values = (frame: ArrayLike<number>) => Array.from(frame, (value) => value);
  const measure = { gainEPerAdu: 1, readNoiseE: 4, fNumber: 7, pixelSizeUm: 3 };
  const lowHigh = (frame: Uint16Array) => Uint8Array.from(values(frame).flatMap((v) => [v & 255, v >> 8]));
  const highLow = (frame: Uint16Array) => Uint8Array.from(values(frame).flatMap((v) => [v >> 8, v & 255]));
  const y4m = joined(
    text('YUV4MPEG2 W48 H40 F2:1 Ip Cmono16 XCOLORRANGE=FULL\n'),
    ...frames.flatMap((frame) => [text('FRAME\n'), lowHigh(frame)]),
  );
  const pgm = joined(...frames.flatMap((frame) => [text('P5\n48 40\n65535\n'), highLow(frame)]));
  const cube = fitsUnit(mandatoryCards(-32, [48, 40, 5]), storedValues(-32, frames.flatMap(values)));
  test.each([
    ['Y4M', y4m, true],
    ['AVI', avi16(frames.map(values), 48, 40), true],
    ['PGM', pgm, false],
    ['FITS cube', cube, false],
  ] as const)('%s', async (_, bytes, timed) => {
    const steps: number[] = [];
    const night = await measureSequence([{ name: 'night', bytes }], {
      measure,
      total: 1,
      onProgress: ({ total }) => steps.push(total),
    });
    expect(night.failed).toEqual([]);
    expect(night.frames.map(({ name }) => name)).toEqual([0, 1, 2, 3, 4].map((n) => `night, frame ${n}`));
    expect(night.order.timed).toBe(timed);
    expect(steps).toEqual([5, 5, 5, 5, 5]);
    expect(night.bytes).toBeCloseTo(bytes.length, 3);
    for (const { frame, x, y, sigmaX } of night.stars[0]!.positions.gaussianFit) {
      expect(Math.abs(x - (20 + 0.5 * frame))).toBeLessThan(5 * sigmaX);
      expect(Math.abs(y - (20.25 - 0.25 * frame))).toBeLessThan(5 * sigmaX);
    }
  });
  test('a cloud is told as the transparency of its frames; a faint frame is left out by name', async () => {
    const clouded = starFrames(5, (n) => (n === 2 ? 0.4 : n === 3 ? 0.02 : 1));
    const bytes = joined(...clouded.flatMap((frame) => [text('P5\n48 40\n65535\n'), highLow(frame)]));
    const night = await measureSequence([{ name: 'night', bytes }], { measure, leastSnr: 20 });
    expect(night.failed).toMatchObject([{ name: 'night, frame 3', reason: 'too-faint' }]);
    for (const [k, { transparency }] of night.frames.entries()) {
      const truth = k === 2 ? 0.4 : 1;
      expect(Math.abs(transparency!.value - truth)).toBeLessThan(5 * transparency!.standardError);
      expect(transparency!.standardError).toBeLessThan(0.02);
    }
    await expect(measureSequence([], { measure, leastSnr: -1 })).rejects.toThrow(
      'leastSnr must be a finite number >= 0, got -1',
    );
  });
  test('a page that is named is taken alone; three planes hold colors', async () => {
    const one = await measureSequence([{ name: 'night', bytes: cube }], { measure, read: { page: 2 } });
    expect(one.frames.map(({ name }) => name)).toEqual(['night']);
    const colors = fitsUnit(mandatoryCards(16, [2, 2, 3]), storedValues(16, [...Array(12).keys()]));
    expect('framesInFile' in (await read(colors))).toBe(false);
    expect(Array.from((await read(colors, { page: 1 })).image.data)).toEqual([4, 5, 6, 7]);
    expect(await refusal(colors, { page: 3 })).toMatch(/^no-such-plane/);
  });
  test('pages of a TIFF', async () => {
    const bytes = tiffFile({ width: 6, height: 4, bits: 16 }, gray16At(0), gray16At(1), gray16At(2));
    expect((await read(bytes)).framesInFile).toBe(3);
    expect(Array.from((await read(bytes, { page: 2 })).image.data)).toEqual(gray16At(2));
  });
});

describe('8 bits', () => {
  const noisy = (sigma: number, offset: number, seed: number) => {
    const random = randomStream(seed, 1);
    return Float64Array.from({ length: 32 * 32 }, () => offset + sigma * random.normal());
  };
  const asFile = (values: Float64Array) =>
    joined(
      text('P5 32 32 255\n'),
      Uint8Array.from(values, (v) => Math.max(0, Math.round(v))),
    );
  test('the growth of the error that is stated is that of the scatter', async () => {
    // of a linear estimator the error is that of a pixel: compare the noise before and after rounding
    const sigma = 0.7;
    let before = 0;
    let after = 0;
    for (let n = 0; n < 40; n++)
      for (const value of noisy(sigma, 20 + n / 40, n)) {
        before += (value - 20 - n / 40) ** 2;
        after += (Math.round(value) - 20 - n / 40) ** 2;
      }
    const growth = Math.sqrt(after / before) - 1;
    const warning = (await read(asFile(noisy(sigma, 20.3, 7)))).warnings.join(' ');
    const stated = Number(/position (\d+) % larger/.exec(warning)?.[1]) / 100;
    // 1000 pixels tell the variance to 4 %, the growth to 0.005
    expect(Math.abs(stated - growth)).toBeLessThan(0.02);
    expect(growth).toBeGreaterThan(0.06);
  });
  test('nothing is said where it costs nothing; a scatter below half a step is', async () => {
    expect((await read(asFile(noisy(3, 30, 2)))).warnings).toHaveLength(1);
    expect((await read(asFile(noisy(0.3, 30.2, 2)))).warnings.join()).toContain('less than 0.5 steps');
    expect((await read(asFile(noisy(2, -1, 2)))).warnings.join()).toMatch(/\d\d % of its pixels are 0/);
  });
});
