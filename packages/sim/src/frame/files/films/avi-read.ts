/** A frame of an AVI film without compression: gray of 8 or 16 bits, palette, colors, or brightness. */
import { type Picture, type PictureFailure, refusePicture, throughPalette } from '../picture.ts';
import { type AviLayout, aviLayout } from './avi-chunks.ts';
import { codedValues } from './coded-values.ts';
import { lowFirst } from './y4m-read.ts';

/** How one kind of uncompressed video stores a pixel. */
interface Storing {
  /** Bytes from pixel to pixel, and that of its brightness or first color. */
  readonly step: number;
  readonly offset: number;
  readonly channels: 1 | 3;
  readonly bits: 8 | 16;
  /** Bytes of a frame beyond width x height x step, per pixel: colors in planes of their own. */
  readonly beside: number;
  readonly hasColors: boolean;
}

const gray: Storing = { step: 1, offset: 0, channels: 1, bits: 8, beside: 0, hasColors: false };
const brightness: Storing = { ...gray, beside: 0.5, hasColors: true };

/** By the four letters of their kind, from memory of the registered codes. */
const codings: Readonly<Record<string, Storing>> = {
  Y800: gray,
  'Y8  ': gray,
  'Y16 ': { ...gray, step: 2, bits: 16 },
  'Y1\u0000\u0010': { ...gray, step: 2, bits: 16 },
  YUY2: { ...gray, step: 2, hasColors: true },
  YUYV: { ...gray, step: 2, hasColors: true },
  UYVY: { ...gray, step: 2, offset: 1, hasColors: true },
  I420: brightness,
  IYUV: brightness,
  YV12: brightness,
  NV12: brightness,
};
const plain: Readonly<Record<number, Storing>> = {
  8: gray,
  24: { ...gray, step: 3, channels: 3 },
  32: { ...gray, step: 4, channels: 3 },
};

/**
 * @param page       frame of the film, from 0
 * @param maxPixels  of a frame with more, nothing is decoded
 */
export function readAvi(bytes: Uint8Array, page: number, maxPixels: number): Picture | PictureFailure {
  const layout = aviLayout(bytes);
  if (!layout.ok) return layout;
  const { width, height, coding, bits, frames } = layout;
  const size = `${width} x ${height} pixels`;
  const storing = coding === '' ? plain[bits] : codings[coding];
  if (storing === undefined)
    return refusePicture(
      'unsupported',
      coding === ''
        ? `AVI: ${bits} bits per pixel are not read; save 8 bits gray, or 24 in color`
        : `AVI: its video is stored as ${JSON.stringify(coding)}, which is not read: save it without compression (Y800 or Y16), or as Y4M`,
    );
  if (width * height > maxPixels)
    return refusePicture('too-large', `AVI: ${size} are more than the ${maxPixels} allowed`);
  const frame = frames[page];
  if (frame === undefined)
    return frames.length === 0
      ? refusePicture('truncated', `AVI: no complete frame in its ${bytes.length} bytes`)
      : refusePicture('no-such-page', `AVI: frame ${page} is not among its ${frames.length} (from 0)`);
  const row = rowBytes(layout, storing, frame.length);
  if (row === undefined)
    return refusePicture(
      'damaged',
      frame.length === 0
        ? `AVI: frame ${page} is empty: the camera or the program dropped it`
        : `AVI: frame ${page} of ${size} has ${frame.length} bytes, which suit no ${storing.step} bytes per pixel`,
    );
  const warnings = [...layout.warnings];
  if (storing.hasColors) warnings.push('AVI: the brightness was taken, and the colors left out');
  const asStored = pixelsOf(bytes, layout, storing, frame.at, row);
  const palette = coding === '' && bits === 8 ? layout.palette : undefined;
  const samples = palette === undefined ? asStored : throughPalette(asStored, palette);
  if (samples === undefined)
    return refusePicture(
      'damaged',
      `AVI: a pixel of frame ${page} has a number beyond the ${palette?.length} of its palette`,
    );
  warnings.push(...codedValues('AVI'));
  return {
    ok: true,
    width,
    height,
    channels: palette === undefined ? storing.channels : 3,
    samples,
    bitpix: storing.bits,
    // the brightness of video ends at 235 (ITU-R BT.601)
    top: storing.hasColors ? 235 : 2 ** storing.bits - 1,
    cards: [],
    warnings,
    frames: frames.length,
    ...(layout.framesPerS === undefined ? {} : { sinceFirstS: page / layout.framesPerS }),
  };
}

/** Rows of plain pixels end at a multiple of 4 bytes; of the others some writers' do. */
function rowBytes({ width, height }: AviLayout, storing: Storing, length: number): number | undefined {
  const close = width * storing.step;
  const padded = 4 * Math.ceil(close / 4);
  const beside = storing.beside > 0 ? 2 * Math.ceil(width / 2) * Math.ceil(height / 2) : 0;
  return [padded, close].find((row) => length === row * height + beside);
}

function pixelsOf(
  bytes: Uint8Array,
  { width, height, bottomUp, coding }: AviLayout,
  { step, offset, channels, bits }: Storing,
  from: number,
  row: number,
): Uint8Array | Uint16Array {
  const samples = bits === 8 ? new Uint8Array(width * height * channels) : new Uint16Array(width * height);
  // only plain pixels go from the bottom up, whatever the sign of the height
  const turned = bottomUp && coding === '';
  for (let y = 0, k = 0; y < height; y++) {
    const begin = from + (turned ? height - 1 - y : y) * row + offset;
    if (bits === 16) {
      samples.set(lowFirst(bytes, begin, width), y * width);
      continue;
    }
    // blue comes first
    for (let x = 0, at = begin; x < width; x++, at += step)
      for (let c = channels - 1; c >= 0; c--) samples[k++] = bytes[at + c];
  }
  return samples;
}
