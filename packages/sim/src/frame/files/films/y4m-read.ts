/**
 * Y4M films (yuv4mpeg(5) of the MJPEG tools): a line of text, then frames without compression, of which the
 * brightness is taken. More than 8 bits: two bytes each, the low one first.
 */
import { textAt } from '../fits/fits-header.ts';
import { type Picture, type PictureFailure, refusePicture } from '../picture.ts';
import { codedValues } from './coded-values.ts';

/** The line that begins a film, or a frame, ends before so many bytes. */
const mostLine = 1024;
const newline = 10;

interface Form {
  readonly ok: true;
  readonly width: number;
  readonly height: number;
  readonly bits: number;
  /** Bytes of a frame, its colors included. */
  readonly frameBytes: number;
  readonly hasColors: boolean;
  readonly fullRange: boolean;
  readonly framesPerS?: number;
  readonly interlaced: boolean;
  readonly dataStart: number;
}

/**
 * @param page       frame of the film, from 0
 * @param maxPixels  of a frame with more, nothing is decoded
 */
export function readY4m(bytes: Uint8Array, page: number, maxPixels: number): Picture | PictureFailure {
  const form = readForm(bytes);
  if (!form.ok) return form;
  const { width, height, bits, frameBytes } = form;
  if (width * height > maxPixels)
    return refusePicture(
      'too-large',
      `Y4M: ${width} x ${height} pixels are more than the ${maxPixels} allowed`,
    );
  const warnings: string[] = [];
  let begin: number | undefined;
  let frames = 0;
  for (let at = form.dataStart; at < bytes.length; frames++) {
    if (textAt(bytes, at, 5) !== 'FRAME')
      return refusePicture('damaged', `Y4M: frame ${frames} must begin with FRAME at byte ${at}`);
    const pixels = lineEnd(bytes, at) + 1;
    const next = pixels + frameBytes;
    if (!(next <= bytes.length)) {
      if (frames === 0)
        return refusePicture(
          'truncated',
          `Y4M: a frame of ${width} x ${height} pixels takes ${frameBytes} bytes; ${bytes.length - pixels} are there`,
        );
      warnings.push(`Y4M: frame ${frames}, from byte ${at} on, is not complete: it was left out`);
      break;
    }
    if (frames === page) begin = pixels;
    at = next;
  }
  if (begin === undefined)
    return refusePicture('no-such-page', `Y4M: frame ${page} is not among its ${frames} (from 0)`);
  const count = width * height;
  const samples = bits === 8 ? bytes.subarray(begin, begin + count) : lowFirst(bytes, begin, count);
  if (form.hasColors) warnings.push('Y4M: the brightness was taken, and the colors left out');
  if (form.interlaced)
    warnings.push('Y4M: its frames are interlaced: rows 0, 2, ... and 1, 3, ... are of different moments');
  warnings.push(...codedValues('Y4M'));
  return {
    ok: true,
    width,
    height,
    channels: 1,
    samples,
    bitpix: bits === 8 ? 8 : 16,
    top: form.fullRange ? 2 ** bits - 1 : 235 * 2 ** (bits - 8),
    cards: [],
    warnings,
    frames,
    ...(form.framesPerS === undefined ? {} : { sinceFirstS: page / form.framesPerS }),
  };
}

/** Of the line that begins at a byte; NaN where it does not end. */
function lineEnd(bytes: Uint8Array, from: number): number {
  const end = bytes.subarray(from, from + mostLine).indexOf(newline);
  return end < 0 ? Number.NaN : from + end;
}

export function lowFirst(bytes: Uint8Array, from: number, count: number): Uint16Array {
  const samples = new Uint16Array(count);
  for (let k = 0, at = from; k < count; k++, at += 2) samples[k] = bytes[at] | (bytes[at + 1] << 8);
  return samples;
}

function readForm(bytes: Uint8Array): Form | PictureFailure {
  const end = lineEnd(bytes, 0);
  if (Number.isNaN(end))
    return refusePicture('truncated', `Y4M: its first line does not end within ${mostLine} bytes`);
  const words = textAt(bytes, 0, end).split(' ').slice(1);
  const told = (letter: string) => words.find((word) => word.startsWith(letter))?.slice(1);
  const [width, height] = [told('W'), told('H')].map((side) =>
    /^\d{1,6}$/.test(side ?? '') ? Number(side) : 0,
  );
  if (!(width > 0 && height > 0))
    return refusePicture('damaged', `Y4M: a film of W${told('W')} H${told('H')} pixels`);
  const colors = told('C') ?? '420';
  const found = /^(mono|420|422|444|411)(jpeg|mpeg2|paldv|alpha)?(?:p?(9|10|12|14|16))?$/.exec(colors);
  if (found === null) return refusePicture('unsupported', `Y4M: colors stored as C${colors} are not read`);
  const bits = Number(found[3] ?? 8);
  const half = (side: number) => Math.ceil(side / 2);
  const colorSamples =
    found[1] === 'mono'
      ? 0
      : found[1] === '420'
        ? 2 * half(width) * half(height)
        : found[1] === '422'
          ? 2 * half(width) * height
          : found[1] === '411'
            ? 2 * Math.ceil(width / 4) * height
            : (found[2] === 'alpha' ? 3 : 2) * width * height;
  const rate = /^(\d{1,9}):(\d{1,9})$/.exec(told('F') ?? '');
  const framesPerS = rate === null ? 0 : Number(rate[1]) / Number(rate[2]);
  return {
    ok: true,
    width,
    height,
    bits,
    frameBytes: (width * height + colorSamples) * (bits === 8 ? 1 : 2),
    hasColors: found[1] !== 'mono',
    fullRange: words.includes('XCOLORRANGE=FULL'),
    ...(framesPerS > 0 && framesPerS < Infinity ? { framesPerS } : {}),
    interlaced: ['t', 'b', 'm'].includes(told('I') ?? ''),
    dataStart: end + 1,
  };
}
