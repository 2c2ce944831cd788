import { type FitsFailure, type FitsImage, readFits } from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
import { card, fitsUnit, joinBytes, latin1, mandatoryCards, storedValues } from './fits-bytes.ts';

function image(bytes: Uint8Array, options = {}): FitsImage {
  const result = readFits(bytes, options);
  if (!result.ok) throw new Error(`${result.reason}: ${result.message}`);
  return result;
}

function failure(bytes: Uint8Array, options = {}): FitsFailure {
  const result = readFits(bytes, options);
  if (result.ok) throw new Error('an image was read');
  return result;
}

const pixels = (result: FitsImage): number[] => Array.from(result.image.data);

describe('pixels', () => {
  test.each([
    [8, [0, 1, 127, 128, 254, 255]],
    [16, [-32768, -1, 0, 1, 32767, 258]],
    [32, [-2147483648, -1, 0, 1, 2147483647, 16909060]],
    [64, [-9007199254740991, -1, 0, 1, 9007199254740991, 72623859790382]],
    [-32, [-1.5, 0, 0.1, 1e-38, 3e38, 1]],
    [-64, [-1.5, 0, 0.1, 1e-300, 1e300, Number.MIN_VALUE]],
  ])('BITPIX %i, 3 x 2, big-endian, row by row', (bitpix, values) => {
    const result = image(fitsUnit(mandatoryCards(bitpix, [3, 2]), storedValues(bitpix, values)));
    expect(result.image.shape).toEqual([2, 3]);
    expect(result.bitpix).toBe(bitpix);
    expect(pixels(result)).toEqual(bitpix === -32 ? values.map(Math.fround) : values);
    // column 2 of row 0, column 0 of row 1
    expect(result.image.get(0, 2)).toBe(pixels(result)[2]);
    expect(result.image.get(1, 0)).toBe(pixels(result)[3]);
    expect(result.warnings).toEqual([]);
  });

  test('value = BZERO + BSCALE * stored', () => {
    const cards = [...mandatoryCards(16, [3, 1]), card('BSCALE', 0.25), card('BZERO', 100)];
    expect(pixels(image(fitsUnit(cards, storedValues(16, [-4, 0, 10]))))).toEqual([99, 100, 102.5]);
  });

  test('unsigned 64-bit integers keep their small values', () => {
    const cards = [...mandatoryCards(64, [3, 1]), card('BZERO', '9223372036854775808')];
    const stored = storedValues(64, [-(2n ** 63n), -(2n ** 63n) + 5n, 0n]);
    expect(pixels(image(fitsUnit(cards, stored)))).toEqual([0, 5, 2 ** 63]);
  });

  test('BLANK is compared before scaling and gives NaN, in 8 to 64 bits', () => {
    for (const bitpix of [8, 16, 32, 64]) {
      const cards = [...mandatoryCards(bitpix, [3, 1]), card('BLANK', 7), card('BZERO', 1)];
      const result = image(fitsUnit(cards, storedValues(bitpix, [6, 7, 8])));
      expect(pixels(result)).toEqual([7, Number.NaN, 9]);
      expect(result.warnings).toEqual(['HDU 0: 1 of 3 pixels have no finite value']);
    }
  });

  test('64-bit BLANK does not take its neighbors beyond 2^53 with it', () => {
    const cards = [...mandatoryCards(64, [2, 1]), card('BLANK', '-9223372036854775808')];
    const stored = storedValues(64, [-(2n ** 63n), -(2n ** 63n) + 1n]);
    expect(pixels(image(fitsUnit(cards, stored)))).toEqual([Number.NaN, -(2 ** 63)]);
  });

  test('BLANK means nothing for floating point, and that is said', () => {
    const cards = [...mandatoryCards(-32, [2, 1]), card('BLANK', 7)];
    const result = image(fitsUnit(cards, storedValues(-32, [7, Number.NaN])));
    expect(pixels(result)).toEqual([7, Number.NaN]);
    expect(result.warnings).toEqual([
      'HDU 0: BLANK has no meaning for floating-point pixels',
      'HDU 0: 1 of 2 pixels have no finite value',
    ]);
  });

  test('the bytes may be a view into a larger buffer', () => {
    const file = fitsUnit(mandatoryCards(16, [3, 1]), storedValues(16, [1, 2, 3]));
    const padded = joinBytes(new Uint8Array(13), file);
    expect(pixels(image(padded.subarray(13)))).toEqual([1, 2, 3]);
  });
});

describe('saturation', () => {
  const of = (bitpix: number, ...cards: string[]) =>
    image(fitsUnit([...mandatoryCards(bitpix, [1, 1]), ...cards], storedValues(bitpix, [0]))).saturationAdu;

  test('SATURATE of the header comes first, else the top of an unscaled 8 or 16-bit range, else nothing', () => {
    expect(of(16, card('BZERO', 32768), card('SATURATE', 50000))).toBe(50000);
    expect(of(16, card('BZERO', 32768))).toBe(65535);
    expect(of(16)).toBe(32767);
    expect(of(8)).toBe(255);
    expect(of(16, card('BSCALE', 0.1))).toBeUndefined();
    expect(of(32)).toBeUndefined();
    expect(of(-32)).toBeUndefined();
  });
});

describe('units and planes', () => {
  const empty = fitsUnit([...mandatoryCards(8, []), card('EXTEND', 'T')]);
  const table = fitsUnit(mandatoryCards(8, [4, 2], 'BINTABLE'), new Uint8Array(8));
  const named = (name: string, version: number, value: number) =>
    fitsUnit(
      [...mandatoryCards(8, [2, 1], 'IMAGE'), `EXTNAME = '${name}'`, card('EXTVER', version)],
      storedValues(8, [value, 0]),
    );
  const several = joinBytes(empty, table, named('SCI', 1, 11), named('ERR', 1, 12), named('SCI', 2, 13));

  test('the first image is taken, behind an empty primary unit and a table', () => {
    const result = image(several);
    expect(result.hduIndex).toBe(2);
    expect(pixels(result)).toEqual([11, 0]);
  });

  test('a unit by number, by name in any case, by name and version', () => {
    expect(pixels(image(several, { hdu: 3 }))[0]).toBe(12);
    expect(pixels(image(several, { hdu: 'err' }))[0]).toBe(12);
    expect(pixels(image(several, { hdu: 'SCI' }))[0]).toBe(11);
    expect(pixels(image(several, { hdu: 'SCI, 2' }))[0]).toBe(13);
  });

  test('a unit that is not there, or is not an image', () => {
    expect(failure(several, { hdu: 9 })).toEqual({
      ok: false,
      reason: 'no-such-hdu',
      message:
        "HDU 9 is not among the 5 units: HDU 0 (primary) without data (NAXIS = 0); HDU 1 table; HDU 2 'SCI' image 2 x 1; HDU 3 'ERR' image 2 x 1; HDU 4 'SCI' image 2 x 1",
    });
    expect(failure(several, { hdu: 'FLAT' }).reason).toBe('no-such-hdu');
    expect(failure(several, { hdu: 1 }).reason).toBe('tables-only');
    expect(failure(several, { hdu: 0 }).reason).toBe('no-image');
  });

  test('a plane of a cube, the first one with a warning when none was named', () => {
    const cube = fitsUnit(mandatoryCards(16, [2, 1, 3]), storedValues(16, [1, 2, 3, 4, 5, 6]));
    expect(pixels(image(cube))).toEqual([1, 2]);
    expect(image(cube).warnings).toEqual(['HDU 0: plane 0 of 3 was read']);
    expect(pixels(image(cube, { plane: 2 }))).toEqual([5, 6]);
    expect(failure(cube, { plane: 3 })).toMatchObject({
      reason: 'no-such-plane',
      message: /plane 3 .* 3 planes/,
    });
  });

  test('a third axis of 1 is no cube', () => {
    expect(image(fitsUnit(mandatoryCards(8, [2, 1, 1]), storedValues(8, [1, 2]))).warnings).toEqual([]);
  });
});

describe('refused, with the reason', () => {
  const cards = mandatoryCards(16, [4, 3]);
  const without = (k: number) => fitsUnit(cards.toSpliced(k, 1), new Uint8Array(24));

  test('what is not FITS, by its first bytes', () => {
    expect(failure(new Uint8Array(0))).toMatchObject({ reason: 'not-fits', message: /no bytes/ });
    expect(failure(Uint8Array.of(0x89, 0x50, 0x4e, 0x47, 13, 10, 26, 10)).message).toBe(
      "not a FITS file: this looks like a PNG picture; it begins with '.PNG....' (89 50 4e 47 0d 0a 1a 0a) instead of 'SIMPLE  ='",
    );
    expect(failure(latin1('hello there'))).toMatchObject({ reason: 'not-fits', message: /'hello th'/ });
  });

  test('gzip, with the call that reads it', () => {
    expect(failure(Uint8Array.of(0x1f, 0x8b, 8, 0))).toMatchObject({
      reason: 'gzip',
      message: /readFitsFile/,
    });
  });

  test('a cut header and a cut image, with the bytes expected and found', () => {
    const file = fitsUnit(cards, new Uint8Array(24));
    expect(failure(file.subarray(0, 160))).toEqual({
      ok: false,
      reason: 'truncated',
      message: 'HDU 0: the header that begins at byte 0 has no END card in the 160 bytes that are there',
    });
    expect(failure(file.subarray(0, 2880 + 23))).toEqual({
      ok: false,
      reason: 'truncated',
      message: 'HDU 0: an image of 4 x 3 pixels of 16 bits takes 24 bytes from byte 2880; 23 are there',
    });
  });

  test('only the padding cut off: read, and said', () => {
    expect(image(fitsUnit(cards, new Uint8Array(24)).subarray(0, 2880 + 24)).warnings).toEqual([
      'HDU 0: the last block is 2856 bytes short; the pixels are complete',
    ]);
  });

  test('an absurd size takes no memory', () => {
    const huge = fitsUnit(mandatoryCards(-64, [2000000000, 2000000000]));
    expect(failure(huge)).toMatchObject({
      reason: 'too-large',
      message: /2000000000 x 2000000000 pixels are more than the 150000000 allowed/,
    });
    expect(failure(fitsUnit(mandatoryCards(8, new Array(999).fill(999999999)))).reason).toBe('too-large');
  });

  test('mandatory keywords missing or out of place', () => {
    expect(failure(without(1))).toMatchObject({
      reason: 'missing-keyword',
      message: /BITPIX is missing; card 2 is NAXIS/,
    });
    expect(failure(without(4))).toMatchObject({
      reason: 'missing-keyword',
      message: /NAXIS2 is missing; card 5 is END/,
    });
    const swapped = [cards[0]!, cards[2]!, cards[1]!, cards[3]!, cards[4]!];
    expect(failure(fitsUnit(swapped))).toMatchObject({
      reason: 'keyword-order',
      message: 'HDU 0: card 2 must be BITPIX, is NAXIS; BITPIX is card 3',
    });
  });

  test.each([
    [1, card('BITPIX', 12), /BITPIX must be one of 8, 16, 32, 64, -32, -64, is 12/],
    [1, card('BITPIX', "'16'"), /is "16"/],
    [2, card('NAXIS', -1), /NAXIS must be a whole number from 0 to 999, is -1/],
    [2, card('NAXIS', 1000), /is 1000/],
    [3, card('NAXIS1', -4), /NAXIS1 must be a whole number >= 0, is -4/],
    [3, card('NAXIS1', 2.5), /is 2.5/],
    [3, 'NAXIS1  =', /is "undefined"/],
  ])('a mandatory keyword without meaning: card %i %s', (k, text, message) => {
    expect(failure(fitsUnit(cards.with(k, text)))).toMatchObject({ reason: 'bad-keyword', message });
  });

  test('a BSCALE or BLANK that is no number', () => {
    for (const text of [card('BSCALE', "'two'"), card('BLANK', 'T')])
      expect(failure(fitsUnit([...cards, text], new Uint8Array(24))).reason).toBe('bad-keyword');
  });

  test('a negative PCOUNT does not send the walk backwards', () => {
    const extension = [
      ...mandatoryCards(8, [2, 1], 'IMAGE').slice(0, 5),
      card('PCOUNT', -1e6),
      card('GCOUNT', 1),
    ];
    const file = joinBytes(fitsUnit(mandatoryCards(8, [])), fitsUnit(extension, new Uint8Array(2)));
    expect(failure(file).reason).toBe('bad-keyword');
  });

  test('one-dimensional data', () => {
    expect(failure(fitsUnit(mandatoryCards(8, [3]), new Uint8Array(3)))).toMatchObject({
      reason: 'no-image',
      message: /HDU 0 \(primary\) one-dimensional, 3 values/,
    });
  });
});

test('a bad call throws, and says what was wrong', () => {
  const file = fitsUnit(mandatoryCards(8, [1, 1]), new Uint8Array(1));
  expect(() => readFits('SIMPLE' as unknown as Uint8Array)).toThrow(
    new TypeError('bytes must be a Uint8Array, got string'),
  );
  expect(() => readFits(file, { plane: -1 })).toThrow(
    new RangeError('plane must be a whole number >= 0, got -1'),
  );
  expect(() => readFits(file, { hdu: 1.5 })).toThrow(
    new RangeError('hdu must be a whole number >= 0, got 1.5'),
  );
});
