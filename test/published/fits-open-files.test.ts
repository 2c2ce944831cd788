/**
 * FITS files that others wrote, read to the values that their own projects state for them:
 * GalSim-developers/GalSim tests/test_image.py (7 x 5 images, value = 10 x + y + k with x, y from 1, k the
 * image's number); astropy/astropy astropy/io/fits/tests/data (test.fits, arange.fits, scale.fits,
 * blank.fits, test0.fits, the refused ones); iraf-community/iraf (DATA MIN and DATA MAX of the file's own
 * header). Where no statement exists, sums were taken from astropy.io.fits 7 on the same files.
 */

import { type FitsImage, type FitsReadOptions, readFits, readFitsFile } from '@holdfast/sim';
import { fitsNumber, fitsText } from '@holdfast/sim/internal';
import { expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { readOpenData } from '../open-data.ts';

function read(name: string, options: FitsReadOptions = {}): FitsImage {
  const result = readFits(readOpenData(`fits/${name}`), options);
  if (!result.ok) throw new Error(result.message);
  return result;
}

const sum = ({ image }: FitsImage): number => image.data.reduce((total, value) => total + value, 0);

function expectRamp({ image }: FitsImage, added = 0): void {
  expect(image.shape).toEqual([5, 7]);
  for (let y = 0; y < 5; y++)
    for (let x = 0; x < 7; x++) expect(image.get(y, x)).toBe(10 * (x + 1) + (y + 1) + added);
}

for (const [name, bitpix] of [
  ['testS', 16],
  ['testI', 32],
  ['testF', -32],
  ['testD', -64],
  ['testUS', 16],
  ['testUI', 32],
] as const)
  test(`${name}.fits: 7 x 5 pixels of BITPIX ${bitpix}, value = 10 x + y [GalSim test_image.py]`, () => {
    const result = read(`plain/${name}.fits`);
    expect(result.bitpix).toBe(bitpix);
    expectRamp(result);
    expect(result.warnings).toEqual([]);
  });

test('testS.fits.gz: the same, compressed [GalSim test_image.py]', async () => {
  const bytes = readOpenData('fits/plain/testS.fits.gz');
  const result = await readFitsFile(bytes);
  if (!result.ok) throw new Error(result.message);
  expectRamp(result);
  expect(readFits(bytes)).toMatchObject({ ok: false, reason: 'gzip' });
});

test('test_multiS.fits: twelve units, the k-th raised by k [GalSim test_image.py]', () => {
  for (let k = 0; k < 12; k++) expectRamp(read('plain/test_multiS.fits', { hdu: k }), k);
  expect(readFits(readOpenData('fits/plain/test_multiS.fits'), { hdu: 12 })).toMatchObject({
    reason: 'no-such-hdu',
  });
});

test('test_cubeS.fits: twelve planes, the k-th raised by k [GalSim test_image.py]', () => {
  for (let k = 0; k < 12; k++) expectRamp(read('odd/test_cubeS.fits', { plane: k }), k);
});

test('arange.fits: 11 x 10 x 7 pixels that count from 0 [astropy, numpy.arange(770)]', () => {
  // a newline conversion has turned each byte 0D of the stored file into 0A: 13, 269 and 525 are 3 less
  const stored = Array.from({ length: 770 }, (_, n) => ([13, 269, 525].includes(n) ? n - 3 : n));
  for (let k = 0; k < 7; k++)
    expect(Array.from(read('odd/arange.fits', { plane: k }).image.data)).toEqual(
      stored.slice(110 * k, 110 * k + 110),
    );
});

test('test.fits and test_dup.fits: 5 x 5 pixels that count from 0', () => {
  const counted = Array.from({ length: 25 }, (_, k) => k);
  expect(Array.from(read('odd/test.fits').image.data)).toEqual(counted);
  const repeated = read('odd/test_dup.fits');
  expect(Array.from(repeated.image.data)).toEqual(counted);
  expect(repeated.warnings).toEqual(['HDU 0 card 7 CARD stands 72 times: the first one is used']);
});

test('blank.fits: one 64-bit pixel, and it is BLANK [astropy test_blank]', () => {
  const result = read('odd/blank.fits');
  expect(Array.from(result.image.data)).toEqual([Number.NaN]);
});

test('scale.fits: 16-bit integers with BZERO 1500 and BSCALE 0.0457778', () => {
  const result = read('odd/scale.fits');
  // astropy.io.fits decodes these pixels in single precision: 24 bits of 2727 are 0.0002
  expectWithin(result.image.data[0]!, 557.75628662, 0.0002, 'single precision of the other reader');
  expectWithin(sum(result), 223202.76544, 0.01, 'single precision of the other reader over 420 pixels');
});

test('test0.fits: four SCI extensions behind an empty primary unit', () => {
  const sums = [501021, 557926, 494052, 515656];
  const bytes = 'odd/test0.fits';
  expect(read(bytes).hduIndex).toBe(1);
  sums.forEach((expected, k) => {
    expect(sum(read(bytes, { hdu: `SCI,${k + 1}` }))).toBe(expected);
    expect(fitsNumber(read(bytes, { hdu: k + 1 }).header, 'EXTVER')).toBe(k + 1);
  });
});

test('fits2.fits: 51 x 51 pixels of 1 from 32-bit integers [IRAF test2]', () => {
  const result = read('odd/fits2.fits');
  expect(result.image.data.every((value) => value === 1)).toBe(true);
  expect(result.warnings[0]).toBe(
    "HDU 0 card 14 keyword 'IRAF-B/P' has characters outside A-Z, 0-9, - and _",
  );
});

test('starfield: least and largest pixel as the headers say [IRAF]', () => {
  for (const name of ['fits1', 'fits3']) {
    const result = readFits(readOpenData(`starfield/${name}.fits`));
    if (!result.ok) throw new Error(result.message);
    const { header, image } = result;
    expect(fitsText(header, 'ORIGIN')).toBe('KPNO-IRAF');
    // printed with seven digits
    expectWithin(
      image.data.reduce((a, b) => Math.max(a, b)),
      fitsNumber(header, 'IRAF-MAX')!,
      5e-5,
      'printed digits',
    );
    expectWithin(
      image.data.reduce((a, b) => Math.min(a, b)),
      fitsNumber(header, 'IRAF-MIN')!,
      6e-6,
      'printed digits',
    );
  }
});

for (const [name, reason, message] of [
  ['compressed_image', 'compressed-tiles', /'COMPRESSED_IMAGE' tile-compressed image \(ZCMPTYPE = RICE_1\)/],
  ['tb', 'tables-only', /HDU 1 table/],
  ['random_groups', 'random-groups', /HDU 0 \(primary\) random groups/],
  ['group_invalid', 'no-image', /NAXIS = 0, GROUPS = T but no group/],
  ['history_header', 'no-image', /HDU 0 \(primary\) without data \(NAXIS = 0\)/],
  ['verify', 'keyword-order', /card 2 must be BITPIX, is NAXIS; BITPIX is card 3/],
] as const)
  test(`${name}.fits is refused: ${reason}`, () => {
    const result = readFits(readOpenData(`fits/refused/${name}.fits`));
    expect(result).toMatchObject({ ok: false, reason, message: expect.stringMatching(message) });
  });
