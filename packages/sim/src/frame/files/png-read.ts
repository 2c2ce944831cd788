/**
 * PNG (W3C Recommendation, 3rd edition): one picture of 8 or 16 bits, gray, color or by palette, interlaced
 * or not.
 */
import { widening } from './films/index.ts';
import {
  cardsOf,
  errorText,
  mostInflation,
  type Picture,
  type PictureFailure,
  type PictureRead,
  refusePicture,
  throughPalette,
} from './picture.ts';
import { type PngHead, readPngHead } from './png-chunks.ts';

type DecodedPng = ReturnType<typeof import('fast-png')['decode']>;

/**
 * The decoder is loaded when the first PNG comes. All checksums are verified.
 *
 * @param maxPixels  of a picture with more, nothing is decoded
 */
export async function readPng(bytes: Uint8Array, page: number, maxPixels: number): Promise<PictureRead> {
  if (page > 0) return refusePicture('no-such-page', `PNG: page ${page} is not there: a PNG file has page 0`);
  const head = readPngHead(bytes);
  if (!head.ok) return head;
  const refused = refuseUnread(head, bytes.length, maxPixels);
  if (refused !== undefined) return refused;
  const { decode } = await import('fast-png');
  let png: DecodedPng;
  try {
    // a view may be part of a larger buffer, and the decoder is not trusted to know
    png = decode(bytes.slice(), { checkCrc: true });
  } catch (error) {
    return refusePicture('damaged', `PNG: ${errorText(error)}`);
  }
  const cards = cardsOf(Object.entries(png.text));
  const warnings = warningsOf(head, png);
  const { width, height } = head;
  if (png.palette !== undefined) {
    const samples = throughPalette(png.data, png.palette);
    if (samples === undefined)
      return refusePicture(
        'damaged',
        `PNG: a pixel has a number beyond the ${png.palette.length} of its palette`,
      );
    return { ok: true, width, height, channels: 3, samples, bitpix: 8, top: 255, cards, warnings };
  }
  const channels = png.channels as Picture['channels'];
  const top = head.depth === 16 ? 65535 : 255;
  return { ok: true, width, height, channels, samples: png.data, bitpix: head.depth, top, cards, warnings };
}

function refuseUnread(head: PngHead, length: number, maxPixels: number): PictureFailure | undefined {
  const { width, height, depth, channels } = head;
  const pixels = width * height;
  const size = `${width} x ${height} pixels`;
  if (!(pixels > 0)) return refusePicture('damaged', `PNG: a picture of ${size}`);
  if (pixels > maxPixels)
    return refusePicture('too-large', `PNG: ${size} are more than the ${maxPixels} allowed`);
  if (depth < 8)
    return refusePicture('unsupported', `PNG: ${depth} bits a pixel; frames of 8 and 16 bits are read`);
  const needed = (pixels * channels * depth) / 8;
  if (needed > mostInflation * length)
    return refusePicture(
      'truncated',
      `PNG: ${size} take ${needed} bytes, more than the ${length} bytes of the file can hold`,
    );
  return undefined;
}

function warningsOf(head: PngHead, png: DecodedPng): string[] {
  const warnings: string[] = [];
  if (head.gamma !== undefined && Math.abs(head.gamma - 1) > 0.01)
    warnings.push(
      `PNG: its values are not proportional to the light (${head.gammaChunk}): a star seems about ${widening(head.gamma).toFixed(1)} times as wide, its brightness is off, and the stated errors do not hold`,
    );
  if (head.significantBits !== undefined && head.significantBits < head.depth)
    warnings.push(
      `PNG: of ${head.depth} bits ${head.significantBits} are significant: the camera's values are multiplied by up to ${2 ** (head.depth - head.significantBits)}, and so is its gain divided`,
    );
  if (head.animated) warnings.push('PNG: the first picture of several was read');
  if (png.transparency !== undefined || png.palette?.some((color) => color.length > 3 && color[3] !== 255))
    warnings.push('PNG: transparency was left out');
  return warnings;
}
