/** A frame from a file of any kind that cameras' programs write: FITS, PNG, TIFF, told by its first bytes. */

import { createImage } from '@holdfast/psf';
import { type NamesOf, requireNames } from '@holdfast/psf/numerics';
import { colorTakes, planeOf } from './color-channels.ts';
import { type ByteSource, bytesOf, defaultInflatedBytes, gunzip } from './file-bytes.ts';
import { readFitsColors } from './fits/fits-colors.ts';
import { defaultMaxPixels, fitsReadNames, neededBytes } from './fits/fits-read.ts';
import { firstBytes, formatName, isGzip } from './fits/fits-signature.ts';
import type { FrameFailure, FrameFileOptions, FrameReadResult, WholeFrame } from './frame-image.ts';
import { throughMosaic } from './frame-mosaic.ts';
import { everyPixel, mosaicPatterns } from './mosaic.ts';
import { refusePicture } from './picture.ts';
import { readPng } from './png-read.ts';
import { readTiff } from './tiff-read.ts';

/**
 * Read a frame from the bytes of a file: FITS (see `readFits`), PNG of 8 or 16 bits, or TIFF of 8 or 16 bits
 * or floating point (plain, LZW, Deflate), each compressed with gzip or not. Of PNG and TIFF the header holds
 * what the file says in words (`hduIndex` is the page, `bitpix` the code that FITS has for such pixels), and
 * `saturationAdu` is the top of the range. A color-mosaic frame becomes an image of half the width and
 * height: see `sampling`, and double `pixelSizeUm`.
 *
 * ```ts
 * const frame = await readFrameFile(await readFile('guide.png'))
 * if (frame.ok) console.log(frame.kind, frame.image.shape, frame.warnings)
 * else console.error(frame.reason, frame.message)
 * ```
 * @returns the image with warnings on what was odd; or the exact reason why there is none
 * @throws TypeError or RangeError for a call that makes no sense (`source` of another type, an unknown
 *   pattern)
 */
export async function readFrameFile(
  source: ByteSource,
  options: FrameFileOptions = {},
): Promise<FrameReadResult> {
  requireOptions(options);
  const { maxInflatedBytes = defaultInflatedBytes } = options;
  let bytes = await bytesOf(source);
  if (isGzip(bytes)) {
    const inflated = await gunzip(bytes, maxInflatedBytes, (first) => neededOf(first, options));
    if (!(inflated instanceof Uint8Array)) return inflated;
    bytes = inflated;
  }
  const whole = await readWhole(bytes, options);
  return whole.ok ? throughMosaic(whole, options) : whole;
}

const optionNames: NamesOf<FrameFileOptions> = {
  ...fitsReadNames,
  maxInflatedBytes: true,
  page: true,
  color: true,
  mosaic: true,
};

function requireOptions(options: FrameFileOptions): void {
  const { page, color, mosaic, maxPixels } = requireNames('options', options, optionNames);
  if (mosaic) requireNames('mosaic', mosaic, { pattern: true, take: true });
  if (page !== undefined && !(Number.isInteger(page) && page >= 0))
    throw new RangeError(`page must be a whole number >= 0, got ${page}`);
  if (maxPixels !== undefined && !(maxPixels > 0))
    throw new RangeError(`maxPixels must be > 0, got ${maxPixels}`);
  const take = mosaic ? mosaic.take : undefined;
  for (const [name, value] of [
    ['color', color],
    ['mosaic.take', take],
  ] as const)
    if (value !== undefined && !colorTakes.includes(value))
      throw new RangeError(`${name} must be one of ${colorTakes.join(', ')}, got ${String(value)}`);
  const pattern = mosaic ? mosaic.pattern : undefined;
  if (pattern !== undefined && !mosaicPatterns.includes(pattern))
    throw new RangeError(
      `mosaic.pattern must be one of ${mosaicPatterns.join(', ')}, got ${String(pattern)}`,
    );
}

/** How much of a compressed file is needed: of FITS its first image, of no kind that is read nothing. */
function neededOf(first: Uint8Array, options: FrameFileOptions): number | FrameFailure | undefined {
  const name = formatName(first);
  if (name === 'a FITS file') return neededBytes(first, options);
  if (name === 'a PNG picture' || name === 'a TIFF picture' || first.length < 8) return undefined;
  return refuseKind(first);
}

function refuseKind(bytes: Uint8Array): FrameFailure {
  const name = formatName(bytes);
  const looks = bytes.length === 0 ? 'there are no bytes' : `it begins with ${firstBytes(bytes)}`;
  return refusePicture(
    'unknown-kind',
    `neither FITS, PNG nor TIFF${name === undefined ? '' : `: this looks like ${name}`}; ${looks}`,
  );
}

async function readWhole(bytes: Uint8Array, options: FrameFileOptions): Promise<WholeFrame | FrameFailure> {
  const name = formatName(bytes);
  const { color = 'sum', page = 0, maxPixels = defaultMaxPixels } = options;
  if (name === 'a FITS file') return readFitsColors(bytes, options, color);
  const kind = name === 'a PNG picture' ? 'png' : name === 'a TIFF picture' ? 'tiff' : undefined;
  if (kind === undefined) return refuseKind(bytes);
  const picture = kind === 'png' ? await readPng(bytes, maxPixels) : await readTiff(bytes, page, maxPixels);
  if (!picture.ok) return picture;
  const { width, height, bitpix, cards, warnings } = picture;
  const plane = planeOf(picture, color);
  return {
    ok: true,
    kind,
    image: createImage(width, height, plane.pixels),
    header: { cards },
    hduIndex: kind === 'tiff' ? page : 0,
    bitpix,
    ...(plane.saturation === undefined ? {} : { saturationAdu: plane.saturation }),
    warnings: [...warnings, ...plane.warnings.map((text) => `${kind.toUpperCase()}: ${text}`)],
    sampling: everyPixel,
    colored: plane.colored,
  };
}
