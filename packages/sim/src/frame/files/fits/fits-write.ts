/** FITS bytes from an image: one primary unit that any reader of the standard opens. */

import type { Image } from '@holdfast/psf';
import { imageHeight, imagePixels, imageWidth } from '@holdfast/psf/internal';
import { requireNames, requireObject, shown } from '@holdfast/psf/numerics';
import { blockLength, type FitsHeader } from './fits-header.ts';
import { type FitsKeyword, formatCards } from './fits-write-card.ts';

/** What a FITS file is written with. */
export interface FitsWriteOptions {
  /**
   * 16: whole numbers from 0 to 65535, as cameras deliver them (stored with BZERO = 32768). -32, -64:
   * floating point, NaN for blank pixels. Default -64, which loses nothing.
   */
  readonly bitpix?: 16 | -32 | -64;
  /**
   * Keywords to add, or the header of a file that was read. Those which say how pixels are stored (BITPIX,
   * NAXIS1, BZERO, CHECKSUM ...) are left out: the writer sets its own.
   */
  readonly header?: FitsHeader | readonly FitsKeyword[];
}

const placeOf = (k: number, width: number): string => ` at x = ${k % width}, y = ${Math.floor(k / width)}`;

/** Keywords of which the writer knows better. */
const structural =
  /^(SIMPLE|XTENSION|BITPIX|NAXIS\d*|EXTEND|PCOUNT|GCOUNT|GROUPS|BSCALE|BZERO|BLANK|CHECKSUM|DATASUM|LONGSTRN|END)$/;

/**
 * Write an image as a FITS file. Row 0 becomes the first row stored.
 *
 * ```ts
 * const bytes = writeFits(frame, { bitpix: 16, header: [{ keyword: 'EXPTIME', value: 2, comment: 'seconds' }] })
 * ```
 * @returns the bytes: a header and the pixels, each filled up to blocks of 2880
 * @throws RangeError if a pixel has no 16-bit value (not whole, outside 0 to 65535, not finite), is beyond
 *         the range of -32, or a keyword cannot be written (its name, or a string that is not printable
 *         ASCII)
 */
export function writeFits(image: Image, options: FitsWriteOptions = {}): Uint8Array<ArrayBuffer> {
  const { bitpix = -64, header = [] } = requireNames('options', options, 'bitpix header');
  requireObject('header', header);
  if (bitpix !== 16 && bitpix !== -32 && bitpix !== -64)
    throw new RangeError(`bitpix must be 16, -32 or -64, got ${shown(bitpix)}`);
  const width = imageWidth(image);
  const height = imageHeight(image);
  const pixels = imagePixels(image);
  const given: readonly FitsKeyword[] = 'cards' in header ? header.cards : header;
  const cards = formatCards([
    { keyword: 'SIMPLE', value: true, comment: 'conforms to the FITS standard' },
    {
      keyword: 'BITPIX',
      value: bitpix,
      comment: bitpix > 0 ? 'bits per integer pixel' : 'IEEE floating point',
    },
    { keyword: 'NAXIS', value: 2, comment: 'number of axes' },
    { keyword: 'NAXIS1', value: width, comment: 'columns' },
    { keyword: 'NAXIS2', value: height, comment: 'rows' },
    ...(bitpix === 16
      ? [
          { keyword: 'BSCALE', value: 1, comment: 'pixel = BZERO + BSCALE * stored' },
          { keyword: 'BZERO', value: 32768, comment: 'unsigned 16-bit pixels' },
        ]
      : []),
    ...given.filter(({ keyword }) => !structural.test(keyword)),
  ]);
  const headerLength = roundUp((cards.length + 1) * 80);
  const out = new Uint8Array(headerLength + roundUp((pixels.length * Math.abs(bitpix)) / 8));
  out.fill(32, 0, headerLength);
  for (const [k, card] of [...cards, 'END'].entries()) putText(out, 80 * k, card);
  putPixels(new DataView(out.buffer, headerLength), pixels, width, bitpix);
  return out;
}

const roundUp = (length: number): number => Math.ceil(length / blockLength) * blockLength;

function putText(out: Uint8Array, start: number, text: string): void {
  for (let k = 0; k < text.length; k++) out[start + k] = text.charCodeAt(k);
}

function putPixels(view: DataView, pixels: Float64Array, width: number, bitpix: 16 | -32 | -64): void {
  if (bitpix === -64) for (let k = 0; k < pixels.length; k++) view.setFloat64(8 * k, pixels[k]);
  else if (bitpix === -32)
    for (let k = 0; k < pixels.length; k++) {
      const value = pixels[k];
      if (Number.isFinite(value) && !Number.isFinite(Math.fround(value)))
        throw new RangeError(
          `pixels must be within +-3.4e38 for bitpix -32, got ${value}${placeOf(k, width)}`,
        );
      view.setFloat32(4 * k, value);
    }
  else
    for (let k = 0; k < pixels.length; k++) {
      const value = pixels[k];
      if (!(value >= 0 && value <= 65535 && Math.floor(value) === value))
        throw new RangeError(
          `pixels must be whole numbers from 0 to 65535 for bitpix 16, got ${value}${placeOf(k, width)}`,
        );
      view.setInt16(2 * k, value - 32768);
    }
}
