import { gzipSync } from 'node:zlib';
import { createImage } from '@holdfast/psf';
import {
  type FrameFileOptions,
  type FrameImage,
  frameFacts,
  readFits,
  readFrameFile,
  writeFits,
} from '@holdfast/sim';
import { fitsText } from '@holdfast/sim/internal';
import { describe, expect, test } from 'vitest';
import { refusedPictures } from './damaged-pictures.ts';
import { card, fitsUnit, latin1, mandatoryCards, storedValues } from './fits-bytes.ts';
import { colorsAt, grayAt, type PictureName, pictureFile } from './picture-files.ts';
import { pngFile } from './png-bytes.ts';
import { read, refusal } from './read-or-refused.ts';
import { tiffFile } from './tiff-bytes.ts';

function expectPixels(frame: FrameImage, valueAt: (x: number, y: number) => number): void {
  const [height, width] = frame.image.shape as [number, number];
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) expect(frame.image.get(y, x), `x = ${x}, y = ${y}`).toBe(valueAt(x, y));
}

describe('pictures that other programs wrote', () => {
  test.each<[PictureName, 'png' | 'tiff', number]>([
    ['pngGray16', 'png', 16],
    ['tifGray16Lzw', 'tiff', 16],
    ['tifGray16Deflate', 'tiff', 16],
    ['tifGray16Big', 'tiff', 16],
    ['tifTiles', 'tiff', 16],
  ])('%s', async (name, kind, bitpix) => {
    const frame = await read(pictureFile(name));
    expect(frame.image.shape).toEqual([4, 6]);
    expectPixels(frame, grayAt);
    expect(frame).toMatchObject({ kind, bitpix, hduIndex: 0, saturationAdu: 65535, warnings: [] });
    expect(frame.sampling).toEqual({ pitchPx: 1, pixelsSummed: 1, x0: 0, y0: 0 });
  });
  test('floating point has no saturation', async () => {
    const frame = await read(pictureFile('tifFloat'));
    expectPixels(frame, (x, y) => grayAt(x, y) / 4);
    expect(frame.bitpix).toBe(-32);
    expect('saturationAdu' in frame).toBe(false);
  });
  test.each<PictureName>(['pngRgb8', 'tifRgb8'])('%s: sum and channels', async (name) => {
    const bytes = pictureFile(name);
    const sum = await read(bytes);
    // blue is 255, the top of its range, in the first row and column: the sum counts as saturated there
    expectPixels(sum, (x, y) => (x * y === 0 ? 765 : colorsAt(x, y).reduce((a, b) => a + b)));
    expect(sum.saturationAdu).toBe(765);
    expect(sum.warnings.join()).toMatch(/its three channels were summed/);
    for (const [c, color] of (['red', 'green', 'blue'] as const).entries()) {
      const one = await read(bytes, { color });
      expectPixels(one, (x, y) => colorsAt(x, y)[c]!);
      expect(one.saturationAdu).toBe(255);
      expect(one.warnings.join()).toContain(`of its colors ${color} was taken`);
    }
  });
  test('the date of a TIFF becomes DATE-OBS', async () => {
    const { header } = await read(pictureFile('tifGray16Deflate'));
    expect(fitsText(header, 'DATE-OBS')).toBe('2024-03-01T21:05:07');
    expect(frameFacts(header).startMs).toBe(Date.UTC(2024, 2, 1, 21, 5, 7));
  });
  test('planes one after the other are refused, not mixed up', async () => {
    expect(await refusal(pictureFile('tifPlanar'))).toBe(
      'unsupported: TIFF: one plane after the other is not read',
    );
  });
});

describe('PNG', () => {
  const size = { width: 13, height: 11 };
  const gray = (x: number, y: number) => (4099 * x + 7001 * y + 17) % 65536;
  test.each([0, 1, 2, 3, 4] as const)('16 bits, row filter %i, interlaced and not', async (filter) => {
    for (const interlaced of [false, true]) {
      const frame = await read(pngFile({ ...size, depth: 16, colorType: 0, filter, interlaced }, gray));
      expectPixels(frame, gray);
    }
  });
  test('8 bits', async () => {
    const frame = await read(
      pngFile({ ...size, depth: 8, colorType: 0, filter: 4 }, (x, y) => gray(x, y) >> 8),
    );
    expectPixels(frame, (x, y) => gray(x, y) >> 8);
    expect(frame).toMatchObject({ bitpix: 8, saturationAdu: 255, warnings: [] });
  });
  test('colors of 16 bits; three equal channels are one', async () => {
    const setting = { ...size, depth: 16, colorType: 2 } as const;
    const colors = await read(pngFile(setting, (x, y, c) => 100 * x + 10 * y + 1000 * c));
    expectPixels(colors, (x, y) => 300 * x + 30 * y + 3000);
    expect(colors.saturationAdu).toBe(3 * 65535);
    const same = await read(pngFile(setting, gray));
    expectPixels(same, gray);
    expect(same.saturationAdu).toBe(65535);
    expect(same.warnings).toEqual(['PNG: its three channels are the same: one of them was taken']);
  });
  test('an alpha channel is left out, and it is said', async () => {
    const frame = await read(
      pngFile({ ...size, depth: 16, colorType: 4 }, (x, y, c) => (c === 0 ? gray(x, y) : 7)),
    );
    expectPixels(frame, gray);
    expect(frame.warnings).toEqual(['PNG: the alpha channel was left out']);
  });
  test('a palette of grays, and one of colors', async () => {
    const palette = (of: (n: number) => number[]) =>
      ['PLTE', Uint8Array.from({ length: 60 }, (_, k) => of(Math.floor(k / 3))[k % 3]!)] as const;
    const setting = { ...size, depth: 8, colorType: 3 } as const;
    const numbers = (x: number, y: number) => (x + y) % 20;
    const grays = await read(
      pngFile({ ...setting, chunks: [palette((n) => [9 * n, 9 * n, 9 * n])] }, numbers),
    );
    expectPixels(grays, (x, y) => 9 * numbers(x, y));
    const colors = await read(pngFile({ ...setting, chunks: [palette((n) => [n, 2 * n, 5 * n])] }, numbers), {
      color: 'blue',
    });
    expectPixels(colors, (x, y) => 5 * numbers(x, y));
    expect(await refusal(pngFile({ ...setting, chunks: [palette((n) => [n, n, n])] }, () => 30))).toBe(
      'damaged: PNG: a pixel has a number beyond the 20 of its palette',
    );
  });
  test('values that are not proportional to light, or not the camera’s own, are noticed', async () => {
    const chunks = [
      ['sBIT', Uint8Array.of(12)],
      ['gAMA', Uint8Array.of(0, 0, 0xb1, 0x8f)],
    ] as const;
    const { warnings } = await read(pngFile({ ...size, depth: 16, colorType: 0, chunks }, gray));
    expect(warnings).toHaveLength(2);
    expect(warnings[0]).toContain('not proportional to the light (gAMA 0.45455)');
    expect(warnings[1]).toContain('of 16 bits 12 are significant');
    const linear = [['gAMA', Uint8Array.of(0, 1, 0x86, 0xa0)]] as const;
    expect(
      (await read(pngFile({ ...size, depth: 16, colorType: 0, chunks: linear }, gray))).warnings,
    ).toEqual([]);
  });
  test('words of the file become cards', async () => {
    const chunks = [
      ['tEXt', latin1('Exptime\u00002.5')],
      ['tEXt', latin1('Title of it\u0000a star')],
    ] as const;
    const { header } = await read(pngFile({ ...size, depth: 16, colorType: 0, chunks }, gray));
    expect(header.cards).toEqual([{ number: 1, keyword: 'EXPTIME', value: 2.5, comment: '' }]);
  });
  test('what is not read is named', async () => {
    expect(await refusal(pngFile({ ...size, depth: 4, colorType: 0 }, (x) => x))).toBe(
      'unsupported: PNG: 4 bits a pixel; frames of 8 and 16 bits are read',
    );
    const whole = pngFile({ ...size, depth: 16, colorType: 0 }, gray);
    expect(await refusal(whole, { maxPixels: 142 })).toBe(
      'too-large: PNG: 13 x 11 pixels are more than the 142 allowed',
    );
    const changed = whole.slice();
    changed[60] ^= 1;
    expect(await refusal(changed)).toMatch(/^damaged: PNG: CRC mismatch for chunk IDAT/);
    const swollen = whole.slice();
    new DataView(swollen.buffer).setUint32(16, 100_000);
    expect(await refusal(swollen)).toMatch(/^truncated: PNG: 100000 x 11 pixels take 2200000 bytes/);
  });
  test('cut at any byte: a reason, never an image', async () => {
    const whole = pngFile({ ...size, depth: 16, colorType: 0 }, gray);
    for (let length = 8; length < whole.length; length++)
      expect(await refusal(whole.subarray(0, length))).toMatch(/^(truncated|damaged): PNG: /);
  });
});

describe('TIFF', () => {
  const size = { width: 5, height: 4 };
  const values = Array.from({ length: 20 }, (_, k) => 3001 * k + 7);
  test.each([
    { bits: 16 },
    { bits: 16, bigEndian: true, rowsPerStrip: 3 },
    { bits: 64, sampleFormat: 3 },
    { bits: 32, sampleFormat: 3, bigEndian: true },
  ] as const)('%j', async (setting) => {
    const frame = await read(tiffFile({ ...size, ...setting }, values));
    expect(Array.from(frame.image.data)).toEqual(values);
    expect(frame.warnings).toEqual([]);
  });
  test('with sign', async () => {
    const signed = values.map((value) => value - 30_000);
    const frame = await read(tiffFile({ ...size, bits: 16, sampleFormat: 2 }, signed));
    expect(Array.from(frame.image.data)).toEqual(signed);
    expect(frame.saturationAdu).toBe(32767);
  });
  test('white as 0 is turned round', async () => {
    const frame = await read(tiffFile({ ...size, bits: 16, photometric: 0 }, values));
    expect(Array.from(frame.image.data)).toEqual(values.map((value) => 65535 - value));
  });
  test('a palette', async () => {
    const colorMap = [0, 1, 2].flatMap((c) => Array.from({ length: 256 }, (_, n) => 256 * n + c));
    const frame = await read(
      tiffFile(
        { ...size, bits: 8, photometric: 3, colorMap },
        values.map((value) => value % 256),
      ),
      { color: 'green' },
    );
    expect(Array.from(frame.image.data)).toEqual(values.map((value) => 256 * (value % 256) + 1));
    expect(frame).toMatchObject({ bitpix: 16, saturationAdu: 65535 });
  });
  test('pages', async () => {
    const twice = values.map((value) => value + 1);
    const bytes = tiffFile({ ...size, bits: 16 }, values, twice);
    const first = await read(bytes);
    expect(Array.from(first.image.data)).toEqual(values);
    expect(first.warnings).toEqual(['TIFF: page 0 of 2 was read (from 0)']);
    const second = await read(bytes, { page: 1 });
    expect(Array.from(second.image.data)).toEqual(twice);
    expect(second.hduIndex).toBe(1);
    for (const page of [2, 7]) expect(await refusal(bytes, { page })).toMatch(/^no-such-page: TIFF: /);
  });
  test.each([
    [{ bits: 32 }, 'unsupported: TIFF: 32 bits a value in sample format 1 is not read'],
    [{ bits: 16, tags: { 259: 32773 } }, 'unsupported: TIFF: PackBits compression is not read'],
    [{ bits: 16, tags: { 259: 7 } }, 'unsupported: TIFF: JPEG compression is not read'],
    [
      { bits: 16, tags: { 262: 32803 } },
      'unsupported: TIFF: a color filter array in the raw form of digital cameras is not read',
    ],
    [{ bits: 16, tags: { 266: 2 } }, 'unsupported: TIFF: bits in reverse order is not read'],
    [{ bits: 16, tags: { 274: 3 } }, 'unsupported: TIFF: Unsupported orientation: 3'],
    [{ bits: 16, tags: { 257: 9 } }, 'damaged: TIFF: 1 strips for 9 rows'],
    [{ bits: 16, tags: { 256: 900 } }, 'truncated: TIFF: 900 x 4 pixels take 7200 bytes; the file has'],
    [{ bits: 16, tags: { 278: 1 } }, 'damaged: TIFF: 1 strips for 4 rows'],
    [{ bits: 16, tags: { 256: 0 } }, 'damaged: TIFF: a page of 0 x 4 pixels'],
  ] as const)('%j is refused', async (setting, message) => {
    expect(await refusal(tiffFile({ ...size, ...setting }, values))).toContain(message);
  });
  test('cut at any byte: a reason, never an image', async () => {
    // the directory stands at the end; a file that has it first is cut in its pixels
    const whole = tiffFile({ ...size, bits: 16 }, values);
    for (let length = 4; length < whole.length; length++)
      expect(await refusal(whole.subarray(0, length))).toMatch(/^(truncated|damaged|no-such-page): TIFF: /);
    const other = pictureFile('tifFloat');
    for (let length = 190; length < other.length; length++)
      expect(await refusal(other.subarray(0, length))).toMatch(/^(truncated|damaged): TIFF: /);
  });
});

describe('a mosaic of colors', () => {
  // red 1000, green 100 and 200, blue 10, each raised by the square's number
  const patterns = {
    RGGB: [1000, 100, 200, 10],
    BGGR: [10, 100, 200, 1000],
    GRBG: [100, 1000, 10, 200],
    GBRG: [100, 10, 1000, 200],
  };
  const mosaicFits = (pattern: keyof typeof patterns, ...cards: readonly string[]) => {
    const pixels = Array.from({ length: 35 }, (_, k) => {
      const [x, y] = [k % 7, Math.floor(k / 7)];
      return patterns[pattern][(x % 2) + 2 * (y % 2)]! + (x >> 1) + 3 * (y >> 1);
    });
    return fitsUnit([...mandatoryCards(16, [7, 5]), ...cards], storedValues(16, pixels));
  };
  const squares = (base: number, per: number) => [0, 1, 2, 3, 4, 5].map((n) => base + per * n);

  test.each(['RGGB', 'BGGR', 'GRBG', 'GBRG'] as const)(
    '%s by the header: the sum, or a color',
    async (pattern) => {
      const bytes = mosaicFits(pattern, `BAYERPAT= '${pattern}    '`);
      const sum = await read(bytes);
      expect(sum.image.shape).toEqual([2, 3]);
      expect(Array.from(sum.image.data)).toEqual(squares(1310, 4));
      expect(sum).toMatchObject({
        saturationAdu: 4 * 32767,
        sampling: { pitchPx: 2, pixelsSummed: 4, x0: 0.5, y0: 0.5 },
      });
      expect(sum.warnings).toEqual([
        `color mosaic ${pattern}: each 2 x 2 pixels were summed; a pixel here is two of the sensor wide`,
      ]);
      const red = await read(bytes, { mosaic: { take: 'red' } });
      expect(Array.from(red.image.data)).toEqual(squares(1000, 1));
      expect((await read(bytes, { color: 'red' })).image.data).toEqual(red.image.data);
      const at = pattern.indexOf('R');
      expect(red.sampling).toEqual({ pitchPx: 2, pixelsSummed: 1, x0: at % 2, y0: at >> 1 });
      const green = await read(bytes, { mosaic: { take: 'green' } });
      expect(Array.from(green.image.data)).toEqual(squares(300, 2));
      expect(green).toMatchObject({
        saturationAdu: 2 * 32767,
        sampling: { pixelsSummed: 2, x0: 0.5, y0: 0.5 },
      });
      expect(Array.from((await read(bytes, { mosaic: { take: 'blue' } })).image.data)).toEqual(
        squares(10, 1),
      );
      // the call against the header
      const raw = await read(bytes, { mosaic: false });
      expect(raw.image.shape).toEqual([5, 7]);
      expect(raw.warnings).toEqual([]);
    },
  );
  test('the pattern moves with XBAYROFF and YBAYROFF', async () => {
    const bytes = mosaicFits('GBRG', "BAYERPAT= 'RGGB    '", card('XBAYROFF', 0), card('YBAYROFF', 1));
    expect(Array.from((await read(bytes, { mosaic: { take: 'blue' } })).image.data)).toEqual(squares(10, 1));
  });
  test('without a header the call says it; one color of an unknown pattern is refused', async () => {
    const bytes = mosaicFits('GRBG');
    expect((await read(bytes)).image.shape).toEqual([5, 7]);
    const blue = await read(bytes, { mosaic: { pattern: 'GRBG', take: 'blue' } });
    expect(Array.from(blue.image.data)).toEqual(squares(10, 1));
    expect(Array.from((await read(bytes, { mosaic: {} })).image.data)).toEqual(squares(1310, 4));
    expect(await refusal(bytes, { mosaic: { take: 'red' } })).toMatch(/^no-pattern: .*there is no BAYERPAT/);
    const odd = mosaicFits('GRBG', "BAYERPAT= 'TRUE    '");
    expect(Array.from((await read(odd)).image.data)).toEqual(squares(1310, 4));
    expect(await refusal(odd, { mosaic: { take: 'red' } })).toMatch(/^no-pattern: .*BAYERPAT is "TRUE"/);
  });
  test('a square with one saturated pixel is saturated', async () => {
    const pixels = [255, 3, 5, 7, 11, 13, 17, 19];
    const bytes = fitsUnit([...mandatoryCards(8, [4, 2]), "BAYERPAT= 'RGGB'"], storedValues(8, pixels));
    const { image, saturationAdu } = await read(bytes);
    expect(Array.from(image.data)).toEqual([4 * 255, 5 + 7 + 17 + 19]);
    expect(saturationAdu).toBe(1020);
  });
  test('colors that are apart have no mosaic; a single row neither', async () => {
    expect(await refusal(pictureFile('pngRgb8'), { mosaic: { pattern: 'RGGB' } })).toMatch(/^no-mosaic: /);
    const row = fitsUnit(mandatoryCards(8, [4, 1]), storedValues(8, [1, 2, 3, 4]));
    expect(await refusal(row, { mosaic: { pattern: 'RGGB' } })).toBe(
      'no-mosaic: a mosaic needs 2 x 2 pixels, the frame has 4 x 1',
    );
  });
  test('rows from the bottom are pointed out where it matters', async () => {
    const bytes = mosaicFits('RGGB', "BAYERPAT= 'RGGB    '", "ROWORDER= 'BOTTOM-UP'");
    expect((await read(bytes, { mosaic: { take: 'red' } })).warnings.at(-1)).toMatch(
      /^ROWORDER is BOTTOM-UP/,
    );
    expect((await read(bytes)).warnings).toHaveLength(1);
  });
});

describe('FITS', () => {
  const image = createImage(6, 5);
  for (let k = 0; k < 30; k++) image.data[k] = 2000 * k;
  const bytes = writeFits(image, { bitpix: 16, header: [{ keyword: 'EXPTIME', value: 2 }] });
  test('gives what readFits gives, plain or gzip', async () => {
    const expected = {
      ...readFits(bytes),
      kind: 'fits',
      sampling: { pitchPx: 1, pixelsSummed: 1, x0: 0, y0: 0 },
    };
    expect(await readFrameFile(bytes)).toEqual(expected);
    expect(await readFrameFile(new Uint8Array(gzipSync(bytes)))).toEqual(expected);
    expect(await readFrameFile(bytes.buffer)).toEqual(expected);
  });
  test('a cube of three planes holds colors; a plane of it can be asked for', async () => {
    const cube = fitsUnit(
      mandatoryCards(16, [3, 2, 3]),
      storedValues(
        16,
        Array.from({ length: 18 }, (_, k) => k),
      ),
    );
    const sum = await read(cube);
    expect(Array.from(sum.image.data)).toEqual([0, 1, 2, 3, 4, 5].map((k) => 3 * k + 18));
    expect(sum.saturationAdu).toBe(3 * 32767);
    expect(sum.warnings).toEqual(['HDU 0: its three channels were summed']);
    expect(Array.from((await read(cube, { color: 'green' })).image.data)).toEqual([6, 7, 8, 9, 10, 11]);
    expect(Array.from((await read(cube, { plane: 2 })).image.data)).toEqual([12, 13, 14, 15, 16, 17]);
  });
  test('failures are those of readFits', async () => {
    // the header takes 2880 bytes, the pixels 60
    const cut = bytes.subarray(0, 2930);
    expect(readFits(cut)).toMatchObject({ ok: false, reason: 'truncated' });
    expect(await readFrameFile(cut)).toEqual(readFits(cut));
  });
});

describe('what is no frame', () => {
  test.each([
    [new Uint8Array(0), 'unknown-kind: neither FITS, PNG, TIFF, PGM, PPM, Y4M nor AVI; there are no bytes'],
    [
      Uint8Array.of(0xff, 0xd8, 0xff, 0xe0),
      "unknown-kind: neither FITS, PNG, TIFF, PGM, PPM, Y4M nor AVI; this looks like a JPEG picture: its compression alters faint light: save frames as FITS, or as TIFF or PNG of 16 bits; it begins with '....' (ff d8 ff e0)",
    ],
    [Uint8Array.of(0x49, 0x49, 0x2b, 0, 8, 0), 'this looks like a BigTIFF picture: convert it to FITS'],
    [
      new Uint8Array(gzipSync(Uint8Array.of(1, 2))),
      'unknown-kind: neither FITS, PNG, TIFF, PGM, PPM, Y4M nor AVI; it begins with',
    ],
  ])('is named by its first bytes', async (bytes, message) => {
    expect(await refusal(bytes)).toContain(message);
  });
  // `damaged-pictures.slow.test.ts` has ten times as many.
  test('damaged pictures give an image or a reason, and never throw', async () => {
    expect(await refusedPictures(150)).toBeGreaterThan(35);
  });
});

describe('a bad call throws', () => {
  test.each([
    [{ page: -1 }, 'page must be a whole number >= 0, got -1'],
    [{ maxPixels: 0 }, 'maxPixels must be > 0, got 0'],
    [{ color: 'pink' }, 'color must be one of sum, red, green, blue, got pink'],
    [{ mosaic: { take: 'pink' } }, 'mosaic.take must be one of sum, red, green, blue, got pink'],
    [{ mosaic: { pattern: 'RGBG' } }, 'mosaic.pattern must be one of RGGB, BGGR, GRBG, GBRG, got RGBG'],
  ])('%j', async (options, message) => {
    await expect(readFrameFile(pictureFile('pngGray16'), options as FrameFileOptions)).rejects.toThrow(
      message,
    );
  });
  test('no bytes at all', async () => {
    await expect(readFrameFile('text' as unknown as Uint8Array)).rejects.toThrow(
      'source must be a Uint8Array, ArrayBuffer or Blob, got string',
    );
  });
});

describe('when a frame was taken', () => {
  const startOf = (...cards: readonly string[]) => {
    const result = readFits(fitsUnit([...mandatoryCards(8, [1, 1]), ...cards], Uint8Array.of(0)));
    if (!result.ok) throw new Error(result.message);
    return frameFacts(result.header).startMs;
  };
  test.each([
    [["DATE-OBS= '2024-03-01T21:05:07.25'"], Date.UTC(2024, 2, 1, 21, 5, 7, 250)],
    [["DATE-OBS= '2024-03-01T21:05:07Z'"], Date.UTC(2024, 2, 1, 21, 5, 7)],
    [["DATE-OBS= '2024-03-01'", "TIME-OBS= '21:05:07.5'"], Date.UTC(2024, 2, 1, 21, 5, 7, 500)],
    [["DATE-OBS= '01/03/98'"], Date.UTC(1998, 2, 1)],
    [["DATE-OBS= '2023-02-29T10:00:00'"], undefined],
    [["DATE-OBS= '2023-02-21T24:00:00'"], undefined],
    [["DATE-OBS= 'tonight'", card('MJD-OBS', 51544.5)], Date.UTC(2000, 0, 1, 12)],
    [[], undefined],
  ])('%j', (cards, expected) => {
    expect(startOf(...cards)).toBe(expected);
  });
});
