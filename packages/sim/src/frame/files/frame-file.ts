/** A frame from a file of any kind that is read, told by its first bytes. */

import { createImage } from '@holdfast/psf';
import { requireNames } from '@holdfast/psf/numerics';
import { colorTakes, planeOf } from './color-channels.ts';
import { type ByteSource, bytesOf, defaultInflatedBytes, gunzip } from './file-bytes.ts';
import { type FrameKind, kindOf } from './file-kinds.ts';
import { readAvi, readNetpbm, readY4m } from './films/index.ts';
import { readFitsColors } from './fits/fits-colors.ts';
import { defaultMaxPixels, fitsReadNames, neededBytes } from './fits/fits-read.ts';
import { firstBytes, isGzip } from './fits/fits-signature.ts';
import type { FrameFailure, FrameFileOptions, FrameReadResult, WholeFrame } from './frame-image.ts';
import { throughMosaic } from './frame-mosaic.ts';
import { everyPixel, mosaicPatterns } from './mosaic.ts';
import { type PictureRead, refusePicture } from './picture.ts';
import { readPng } from './png-read.ts';
import { roundingWarnings } from './rounding.ts';
import { readTiff } from './tiff-read.ts';

/**
 * Read a frame from the bytes of a file: FITS (see `readFits`), PNG of 8 or 16 bits, TIFF of 8 or 16 bits or
 * floating point (plain, LZW, Deflate), PGM, PPM, Y4M, AVI without compression, each compressed with gzip or
 * not. Of all but FITS the header holds what the file says in words (`hduIndex` is the page, `bitpix` the
 * code that FITS has for such pixels), and `saturationAdu` is the top of the range. A color-mosaic frame
 * becomes an image of half the width and height: see `sampling`, and double `pixelSizeUm`. Of a film `page`
 * says which frame; `framesInFile` how many there are. `measureSequence` takes all.
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
  const bytes = await plainBytes(source, options);
  return bytes instanceof Uint8Array ? readPlain(bytes, options, true) : bytes;
}

/**
 * Every frame of a file, one after the other: of a film all of them, unless the options name one. The first
 * tells how many there are.
 *
 * @yields the frame, or the reason why there is none; its number, where there are several
 */
export async function* framesOfFile(
  source: ByteSource,
  options: FrameFileOptions = {},
): AsyncGenerator<{ readonly frame: FrameReadResult; readonly page?: number }> {
  requireOptions(options);
  const bytes = await plainBytes(source, options);
  if (!(bytes instanceof Uint8Array)) {
    yield { frame: bytes };
    return;
  }
  const first = await readPlain(bytes, options, true);
  const asked = options.page !== undefined || options.plane !== undefined;
  const count = first.ok && !asked ? (first.framesInFile ?? 1) : 1;
  yield count > 1 ? { frame: first, page: 0 } : { frame: first };
  for (let page = 1; page < count; page++)
    yield { frame: await readPlain(bytes, { ...options, page }, false), page };
}

async function plainBytes(source: ByteSource, options: FrameFileOptions): Promise<Uint8Array | FrameFailure> {
  const { maxInflatedBytes = defaultInflatedBytes } = options;
  const bytes = await bytesOf(source);
  return isGzip(bytes) ? gunzip(bytes, maxInflatedBytes, (first) => neededOf(first, options)) : bytes;
}

/** @param isFirst  the file's own checksums are verified, which takes all of its bytes */
async function readPlain(
  bytes: Uint8Array,
  options: FrameFileOptions,
  isFirst: boolean,
): Promise<FrameReadResult> {
  const whole = await readWhole(bytes, options, isFirst);
  if (!whole.ok) return whole;
  const warned = { ...whole, warnings: [...whole.warnings, ...roundingWarnings(whole)] };
  return throughMosaic(warned, options);
}

function requireOptions(options: FrameFileOptions): void {
  const { page, color, mosaic, maxPixels } = requireNames(
    'options',
    options,
    fitsReadNames,
    'maxInflatedBytes page color mosaic',
  );
  if (mosaic) requireNames('mosaic', mosaic, 'pattern take');
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
  const read = kindOf(first)?.read;
  if (read === 'fits') return neededBytes(first, options);
  // the kind that is told latest
  if (read !== undefined || first.length < 262) return undefined;
  return refuseKind(first);
}

function refuseKind(bytes: Uint8Array): FrameFailure {
  const kind = kindOf(bytes);
  const looks =
    bytes.length === 0
      ? 'there are no bytes'
      : `${kind === undefined ? '' : `this looks like ${kind.name}: ${kind.remedy}; `}it begins with ${firstBytes(bytes)}`;
  return refusePicture('unknown-kind', `neither FITS, PNG, TIFF, PGM, PPM, Y4M nor AVI; ${looks}`);
}

async function readWhole(
  bytes: Uint8Array,
  options: FrameFileOptions,
  isFirst: boolean,
): Promise<WholeFrame | FrameFailure> {
  const kind = kindOf(bytes)?.read;
  const { color = 'sum', page = 0, maxPixels = defaultMaxPixels } = options;
  if (kind === undefined) return refuseKind(bytes);
  if (kind === 'fits') return readFitsColors(bytes, options, color, isFirst);
  const picture = await readers[kind](bytes, page, maxPixels);
  if (!picture.ok) return picture;
  const { width, height, bitpix, cards, warnings, frames = 1, sinceFirstS } = picture;
  const plane = planeOf(picture, color);
  const named = kind === 'netpbm' ? 'Netpbm' : kind.toUpperCase();
  return {
    ok: true,
    kind,
    image: createImage(width, height, plane.pixels),
    header: { cards },
    hduIndex: page,
    bitpix,
    ...(plane.saturation === undefined ? {} : { saturationAdu: plane.saturation }),
    warnings: [
      ...(frames > 1
        ? [`${named}: ${picturesName[kind] ?? 'frame'} ${page} of ${frames} was read (from 0)`]
        : []),
      ...warnings,
      ...plane.warnings.map((text) => `${named}: ${text}`),
    ],
    sampling: everyPixel,
    colored: plane.colored,
    ...(frames > 1 ? { framesInFile: frames } : {}),
    ...(frames > 1 && sinceFirstS !== undefined ? { sinceFirstS } : {}),
  };
}

const picturesName: Partial<Record<FrameKind, string>> = { tiff: 'page', netpbm: 'picture' };

const readers: Readonly<
  Record<
    Exclude<FrameKind, 'fits'>,
    (bytes: Uint8Array, page: number, maxPixels: number) => PictureRead | Promise<PictureRead>
  >
> = { png: readPng, tiff: readTiff, netpbm: readNetpbm, y4m: readY4m, avi: readAvi };
