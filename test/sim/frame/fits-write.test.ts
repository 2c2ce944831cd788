import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { createImage } from '@holdfast/psf';
import {
  type FitsImage,
  type FitsKeyword,
  type FitsWriteOptions,
  fitsValue,
  readFits,
  writeFits,
} from '@holdfast/sim';
import { fitsText } from '@holdfast/sim/internal';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';

const image = createImage(
  5,
  3,
  Float64Array.from({ length: 15 }, (_, k) => 1000 * k),
);

function back(options: FitsWriteOptions, from = image): FitsImage {
  const result = readFits(writeFits(from, options));
  if (!result.ok) throw new Error(result.message);
  expect(result.warnings).toEqual([]);
  return result;
}

/** Many sorts of keyword at once. */
const keywords: readonly FitsKeyword[] = [
  { keyword: 'EXPTIME', value: 2.5, comment: 'seconds' },
  { keyword: 'COUNT', value: -12345678 },
  { keyword: 'SMALL', value: -1.234567890123456e-300 },
  { keyword: 'LARGE', value: 1e20 },
  { keyword: 'GUIDING', value: true },
  { keyword: 'OBJECT', value: "Barnard's star", comment: 'it moves' },
  { keyword: 'SHIFT', value: { re: 1.5, im: -2 } },
  { keyword: 'UNKNOWN', comment: 'no value' },
  { keyword: 'LAW', value: 'Fish &' },
  { keyword: 'LONG', value: `${"it's long ".repeat(20)}end`, comment: 'goes on' },
  { keyword: 'LENS GROUP TEMPERATURE', value: -3.25, comment: 'degrees' },
  { keyword: 'COMMENT', comment: 'c'.repeat(100) },
  { keyword: 'HISTORY', comment: 'written by a test' },
];

describe('round trips', () => {
  test.each([16, -32, -64] as const)('pixels of BITPIX %i come back bit by bit', (bitpix) => {
    const result = back({ bitpix });
    expect(result.bitpix).toBe(bitpix);
    expect(result.image.shape).toEqual([3, 5]);
    expect(result.image.data).toEqual(image.data);
  });

  test('the default keeps every double, NaN too', () => {
    const odd = createImage(4, 1, Float64Array.of(0.1, Number.NaN, -1e300, Number.MIN_VALUE));
    const result = readFits(writeFits(odd));
    expect(result).toMatchObject({ ok: true, bitpix: -64, image: { data: odd.data } });
  });

  test('unsigned 16-bit frames use their whole range and carry their saturation', () => {
    const frame = createImage(2, 1, Float64Array.of(0, 65535));
    expect(back({ bitpix: 16 }, frame)).toMatchObject({ saturationAdu: 65535, image: { data: frame.data } });
  });

  test('a transposed view is written as it is seen', () => {
    expect(Array.from(back({}, image.transpose(1, 0)).image.data.slice(0, 4))).toEqual([
      0, 5000, 10000, 1000,
    ]);
  });

  test('keywords come back with their values and comments', () => {
    const { header } = back({ header: keywords });
    for (const { keyword, value } of keywords) expect(fitsValue(header, keyword)).toEqual(value);
    expect(header.cards.find((card) => card.keyword === 'OBJECT')?.comment).toBe('it moves');
    expect(
      header.cards.filter((card) => card.keyword === 'COMMENT').map((card) => card.comment.length),
    ).toEqual([72, 28]);
  });

  test('the header of a file that was read may be written again; how pixels are stored is not taken from it', () => {
    const first = back({ bitpix: 16, header: keywords });
    const second = back({ bitpix: -32, header: first.header });
    const own = (frame: FitsImage) =>
      frame.header.cards
        .filter(({ keyword }) => !/^(BITPIX|BSCALE|BZERO)$/.test(keyword))
        .map(({ number: _, ...rest }) => rest);
    expect(own(second)).toEqual(own(first));
    expect(fitsValue(second.header, 'BZERO')).toBeUndefined();
  });

  test('any printable string survives, quotes and ampersands at card ends too', () => {
    const printable = fc.string({ unit: fc.constantFrom("'", '&', ' ', '/', 'a', 'Z'), maxLength: 300 });
    fc.assert(
      fc.property(printable, (value) => {
        expect(fitsText(back({ header: [{ keyword: 'KEY', value }] }).header, 'KEY')).toBe(value.trimEnd());
      }),
      { seed: 7, numRuns: 500 },
    );
  });

  test('any double survives as a keyword', () => {
    fc.assert(
      fc.property(fc.double({ noNaN: true, noDefaultInfinity: true }), (value) => {
        // FITS does not tell -0 from 0
        expect(fitsValue(back({ header: [{ keyword: 'KEY', value }] }).header, 'KEY')).toBe(
          value === 0 ? 0 : value,
        );
      }),
      { seed: 7, numRuns: 500 },
    );
  });
});

describe('the standard', () => {
  test('header and data fill blocks of 2880 bytes; the first cards are in their order; END ends them', () => {
    const bytes = writeFits(image, { bitpix: 16 });
    expect(bytes.length).toBe(2 * 2880);
    const text = String.fromCharCode(...bytes.subarray(0, 2880));
    const cards = Array.from({ length: 36 }, (_, k) => text.slice(80 * k, 80 * k + 80));
    expect(cards.slice(0, 5).map((card) => card.slice(0, 30))).toEqual([
      'SIMPLE  =                    T',
      'BITPIX  =                   16',
      'NAXIS   =                    2',
      'NAXIS1  =                    5',
      'NAXIS2  =                    3',
    ]);
    expect(cards[7]).toBe('END'.padEnd(80));
    expect(text.slice(8 * 80).trim()).toBe('');
    expect(bytes.subarray(2880 + 30).every((byte) => byte === 0)).toBe(true);
  });

  // a keyword without value is allowed, but the verifier warns of it
  const verifiable = keywords.filter(({ keyword }) => keyword !== 'UNKNOWN');
  const verifier = spawnSync('fitsverify', ['-h']).error === undefined;
  const verified = verifier ? test : test.skip;
  const absent = verifier ? '' : ' (skipped: the program fitsverify is not installed)';

  verified(`an independent verifier finds no error and no warning${absent}`, () => {
    const folder = mkdtempSync(`${tmpdir()}/fits-`);
    try {
      for (const bitpix of [16, -32, -64] as const) {
        const file = `${folder}/frame${bitpix}.fits`;
        writeFileSync(file, writeFits(image, { bitpix, header: verifiable }));
        const { stdout } = spawnSync('fitsverify', [file], { encoding: 'utf8' });
        expect(stdout).toContain('**** Verification found 0 warning(s) and 0 error(s). ****');
      }
    } finally {
      rmSync(folder, { recursive: true });
    }
  });
});

describe('a bad call throws', () => {
  const pixel = (value: number) => createImage(3, 2, Float64Array.of(0, 0, 0, 0, value, 0));

  test.each([70000, -1, 2.5, Number.NaN])('a pixel of %f in 16 bits', (value) => {
    expect(() => writeFits(pixel(value), { bitpix: 16 })).toThrow(
      new RangeError(
        `pixels must be whole numbers from 0 to 65535 for bitpix 16, got ${value} at x = 1, y = 1`,
      ),
    );
  });

  test('a pixel beyond single precision', () => {
    expect(() => writeFits(pixel(1e39), { bitpix: -32 })).toThrow(RangeError);
  });

  test('a bitpix that is not written', () => {
    expect(() => writeFits(image, { bitpix: 32 as 16 })).toThrow(
      new RangeError('bitpix must be 16, -32 or -64, got 32'),
    );
  });

  test.each([
    [{ keyword: 'lower', value: 1 }, /keyword must be words of A-Z/],
    [{ keyword: 'A/B', value: 1 }, /got "A\/B"/],
    [
      { keyword: 'NAME', value: 'M\u00e9chain' },
      /value of NAME must be printable ASCII, got character code 233 at 1/,
    ],
    [{ keyword: 'NAME', value: Number.NaN }, /NAME must be a finite number, got NaN/],
    [{ keyword: 'NAME', value: 1, comment: 'a\nb' }, /comment of NAME must be printable ASCII/],
  ])('keyword %j', (keyword, message) => {
    expect(() => writeFits(image, { header: [keyword] })).toThrow(message);
  });
});
