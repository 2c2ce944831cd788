/** One image out of the bytes of a FITS file, or the exact reason why there is none. */

import type { Image } from '@holdfast/psf';
import { requireNames, shown } from '@holdfast/psf/numerics';
import ndarray from 'ndarray';
import { checksumFaults } from './fits-checksum.ts';
import { decodePixels, type PixelCode, topOfRange } from './fits-data.ts';
import { describeHdus, type FitsFailure, fail, type Hdu, readHdu, startsExtension } from './fits-hdu.ts';
import { type FitsHeader, fitsNumber, fitsText, fitsValue } from './fits-header.ts';
import { foreignFormat, isGzip } from './fits-signature.ts';

/** Which image of a FITS file is read, and how. */
export interface FitsReadOptions {
  /**
   * Which unit: its number from 0, or its EXTNAME (any case; `'SCI,2'` for EXTVER 2). Default: the first one
   * that holds an image of two axes or more.
   */
  readonly hdu?: number | string;
  /** Which plane of a cube, from 0. Default 0, with a warning when there are more. */
  readonly plane?: number;
  /** Largest number of pixels that the image may have; of more, nothing is decoded. Default 150 million. */
  readonly maxPixels?: number;
}

export const fitsReadNames = 'hdu plane maxPixels';

/** Larger than any camera's frame; as 64-bit numbers 1.2 GB. */
export const defaultMaxPixels = 150_000_000;

/** An image of a FITS file. */
export interface FitsImage {
  readonly ok: true;
  /**
   * Physical values, `[NAXIS2, NAXIS1]`; NaN where the file says blank. Row 0 is the first row stored: FITS
   * pixel = ours + 1.
   */
  readonly image: Image;
  /** Header of its unit. */
  readonly header: FitsHeader;
  /** Number of its unit, from 0. */
  readonly hduIndex: number;
  /** Kind of its stored pixels, as BITPIX says it. */
  readonly bitpix: number;
  /**
   * HFSATUR or SATURATE of the header, else the top of an unscaled 8 or 16-bit range; absent for other
   * pixels.
   */
  readonly saturationAdu?: number;
  /** What was odd but did not stop the reading, with card numbers. */
  readonly warnings: readonly string[];
}

/** An image, or the reason why there is none; discriminated by `ok`. */
export type FitsReadResult = FitsImage | FitsFailure;

/**
 * Read one image from the bytes of a FITS file (FITS 4.0): BITPIX 8, 16, 32, 64, -32, -64 with BSCALE, BZERO
 * and BLANK, in the primary unit or an image extension. Takes no memory before it knows that the bytes are
 * there.
 *
 * ```ts
 * const frame = readFits(bytes)
 * if (frame.ok) console.log(frame.image.get(0, 0), frame.warnings)
 * else console.error(frame.reason, frame.message)
 * ```
 * Compressed with gzip: `readFitsFile`, which waits for the decompression.
 *
 * @throws TypeError or RangeError for a call that makes no sense (`bytes` of another type, a negative plane)
 */
export function readFits(bytes: Uint8Array, options: FitsReadOptions = {}): FitsReadResult {
  return readFitsPlane(bytes, options, true);
}

/** @param verifies  the checksums of the unit, which takes all of its bytes: for the first of many planes */
export function readFitsPlane(
  bytes: Uint8Array,
  options: FitsReadOptions,
  verifies: boolean,
): FitsReadResult {
  const {
    hdu: wanted,
    plane,
    maxPixels = defaultMaxPixels,
  } = requireNames('options', options, fitsReadNames);
  if (!(typeof maxPixels === 'number' && maxPixels > 0))
    throw new RangeError(`maxPixels must be > 0, got ${shown(maxPixels)}`);
  if (!(bytes instanceof Uint8Array)) throw new TypeError(`bytes must be a Uint8Array, got ${typeof bytes}`);
  if (plane !== undefined) requireIndex('plane', plane);
  if (wanted !== undefined && typeof wanted !== 'string') requireIndex('hdu', wanted);
  if (isGzip(bytes))
    return fail('gzip', 'the bytes are compressed with gzip: await readFitsFile(bytes) instead');
  const foreign = foreignFormat(bytes);
  if (foreign !== undefined) return fail('not-fits', foreign);
  const found = findHdu(bytes, wanted);
  return found.ok ? readImage(bytes, found, { maxPixels, plane, verifies }) : found;
}

function requireIndex(name: string, value: number): void {
  if (!Number.isInteger(value) || value < 0)
    throw new RangeError(`${name} must be a whole number >= 0, got ${shown(value)}`);
}

/** Walk through the units up to the one wanted. */
function findHdu(bytes: Uint8Array, wanted: number | string | undefined): Hdu | FitsFailure {
  const passed: Hdu[] = [];
  for (let at = 0; ; ) {
    const hdu = readHdu(bytes, at, passed.length);
    if (!hdu.ok) return hdu;
    passed.push(hdu);
    if (wanted === undefined ? hdu.kind === 'image' : isNamed(hdu, wanted))
      return hdu.kind === 'image' ? hdu : noImage([hdu]);
    at = hdu.next;
    if (!startsExtension(bytes, at))
      return wanted === undefined ? noImage(passed) : noSuchHdu(wanted, passed);
  }
}

function isNamed(hdu: Hdu, wanted: number | string): boolean {
  if (typeof wanted === 'number') return hdu.index === wanted;
  const name = fitsText(hdu.header, 'EXTNAME')?.toUpperCase();
  if (name === undefined) return false;
  const versioned = `${name},${fitsNumber(hdu.header, 'EXTVER') ?? 1}`;
  return wanted.toUpperCase() === name || wanted.toUpperCase().replaceAll(' ', '') === versioned;
}

function noImage(passed: readonly Hdu[]): FitsFailure {
  const account = describeHdus(passed);
  for (const kind of ['compressed-tiles', 'random-groups'] as const)
    if (passed.some((hdu) => hdu.kind === kind))
      return fail(
        kind,
        `no plain image, only ${kind === 'random-groups' ? 'random groups' : 'a tile-compressed one'}: ${account}`,
      );
  if (passed.some((hdu) => hdu.kind === 'table')) return fail('tables-only', `tables, no image: ${account}`);
  return fail('no-image', `no image of two axes or more: ${account}`);
}

function noSuchHdu(wanted: number | string, passed: readonly Hdu[]): FitsFailure {
  const account = describeHdus(passed);
  return fail(
    'no-such-hdu',
    `HDU ${JSON.stringify(wanted)} is not among the ${passed.length} units: ${account}`,
  );
}

/**
 * How many bytes of a FITS file are needed for its first image, by its first bytes; why it gives none;
 * undefined when these bytes do not tell, or another unit is asked for.
 */
export function neededBytes(
  first: Uint8Array,
  { hdu: wanted, maxPixels = defaultMaxPixels }: FitsReadOptions,
): number | FitsFailure | undefined {
  if (first.length < 80) return undefined;
  const foreign = foreignFormat(first);
  if (foreign !== undefined) return fail('not-fits', foreign);
  if (wanted !== undefined) return undefined;
  for (let at = 0, index = 0; ; index++) {
    const hdu = readHdu(first, at, index);
    if (!hdu.ok) return hdu.reason === 'truncated' ? undefined : hdu;
    if (hdu.kind === 'image') return tooLarge(hdu, maxPixels) ?? hdu.next;
    at = hdu.next;
    if (!startsExtension(first, at)) return undefined;
  }
}

function tooLarge({ axes, index }: Hdu, maxPixels: number): FitsFailure | undefined {
  const [width, height] = axes as [number, number];
  if (width * height <= maxPixels) return undefined;
  return fail(
    'too-large',
    `HDU ${index}: ${width} x ${height} pixels are more than the ${maxPixels} allowed`,
  );
}

interface Taken {
  readonly maxPixels: number;
  readonly plane: number | undefined;
  readonly verifies: boolean;
}

function readImage(bytes: Uint8Array, hdu: Hdu, { maxPixels, plane = 0, verifies }: Taken): FitsReadResult {
  const { header, axes, bitpix, index } = hdu;
  const [width, height] = axes as [number, number];
  const refused = tooLarge(hdu, maxPixels);
  if (refused !== undefined) return refused;
  const there = Math.max(0, bytes.length - hdu.dataStart);
  if (hdu.dataBytes > there)
    return fail(
      'truncated',
      `HDU ${index}: an image of ${axes.join(' x ')} pixels of ${Math.abs(bitpix)} bits takes ${hdu.dataBytes} bytes from byte ${hdu.dataStart}; ${there} are there`,
    );
  const planes = axes.slice(2).reduce((product, side) => product * side, 1);
  if (plane >= planes)
    return fail('no-such-plane', `HDU ${index}: plane ${plane} is not among its ${planes} planes (from 0)`);
  const code = readCode(hdu);
  if ('ok' in code) return code;
  const count = width * height;
  const pixels = decodePixels(bytes, hdu.dataStart + (plane * count * Math.abs(bitpix)) / 8, count, code);
  const saturationAdu = saturationOf(header, code);
  return {
    ok: true,
    image: ndarray(pixels, [height, width]),
    header,
    hduIndex: index,
    bitpix,
    ...(saturationAdu === undefined ? {} : { saturationAdu }),
    warnings: [
      ...hdu.warnings,
      ...oddities(bytes, hdu, plane, planes, pixels),
      ...(verifies ? checksumFaults(bytes, hdu).map((text) => `HDU ${index}: ${text}`) : []),
    ],
  };
}

/** How stored numbers turn into values; refused where a keyword makes that unknowable. */
function readCode({ header, bitpix, index }: Hdu): PixelCode | FitsFailure {
  for (const keyword of ['BSCALE', 'BZERO', 'BLANK'])
    if (fitsValue(header, keyword) !== undefined && fitsNumber(header, keyword) === undefined)
      return fail(
        'bad-keyword',
        `HDU ${index}: ${keyword} must be a number, is ${JSON.stringify(fitsValue(header, keyword))}`,
      );
  const blank = bitpix > 0 ? fitsNumber(header, 'BLANK') : undefined;
  return {
    bitpix,
    bscale: fitsNumber(header, 'BSCALE') ?? 1,
    bzero: fitsNumber(header, 'BZERO') ?? 0,
    ...(blank === undefined ? {} : { blank }),
  };
}

function saturationOf(header: FitsHeader, code: PixelCode): number | undefined {
  return fitsNumber(header, 'HFSATUR') ?? fitsNumber(header, 'SATURATE') ?? topOfRange(code);
}

function oddities(
  bytes: Uint8Array,
  hdu: Hdu,
  plane: number,
  planes: number,
  pixels: Float64Array,
): string[] {
  const { header, index } = hdu;
  const odd: string[] = [];
  const say = (text: string) => odd.push(`HDU ${index}: ${text}`);
  if (index === 0 && fitsValue(header, 'SIMPLE') !== true)
    say('SIMPLE is not T: the file says it departs from the standard');
  if (planes > 1) say(`plane ${plane} of ${planes} was read`);
  if (fitsNumber(header, 'BSCALE') === 0) say('BSCALE is 0: all pixels are BZERO');
  if (hdu.bitpix < 0 && fitsValue(header, 'BLANK') !== undefined)
    say('BLANK has no meaning for floating-point pixels');
  if (bytes.length < hdu.next)
    say(`the last block is ${hdu.next - bytes.length} bytes short; the pixels are complete`);
  let unusable = 0;
  for (let k = 0; k < pixels.length; k++) if (!Number.isFinite(pixels[k]!)) unusable++;
  if (unusable > 0) say(`${unusable} of ${pixels.length} pixels have no finite value`);
  return odd;
}
