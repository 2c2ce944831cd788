/** A picture as a decoder of its kind of file hands it over, before its colors are taken apart. */
import type { FitsCard } from './fits/fits-card.ts';

/** Why a file that is not FITS, or a frame of any kind with colors, gives no image. */
export type PictureFailureReason =
  /** the bytes begin as no kind of file that is read here */
  | 'unknown-kind'
  /** the bytes contradict the format or their own checksums */
  | 'damaged'
  /** a form of the format that is not read: the message names it */
  | 'unsupported'
  /** the file ends before its picture does */
  | 'truncated'
  /** more pixels than `maxPixels` */
  | 'too-large'
  /** the page or the frame asked for is not there */
  | 'no-such-page'
  /** one color of a mosaic was asked for, and neither the file nor the call says which pixel has which */
  | 'no-pattern'
  /**
   * a mosaic was asked for of an image that has none: colors already apart, or fewer than 2 pixels per side
   */
  | 'no-mosaic';

export interface PictureFailure {
  readonly ok: false;
  readonly reason: PictureFailureReason;
  /** The exact reason, with its numbers, for a person to read. */
  readonly message: string;
}

export const refusePicture = (reason: PictureFailureReason, message: string): PictureFailure => ({
  ok: false,
  reason,
  message,
});

export interface Picture {
  readonly ok: true;
  readonly width: number;
  readonly height: number;
  /**
   * Values per pixel: 1 gray, 2 gray and alpha, 3 red, green, blue, 4 the same and alpha. Row by row, pixel
   * by pixel.
   */
  readonly channels: 1 | 2 | 3 | 4;
  readonly samples: ArrayLike<number>;
  /** Bits of a value, negative for floating point: 8, 16, -32, -64, as BITPIX of FITS says it. */
  readonly bitpix: number;
  /** Highest value that a pixel can have; absent for floating point. */
  readonly top?: number;
  /** What the file says of itself, as FITS cards. */
  readonly cards: readonly FitsCard[];
  readonly warnings: readonly string[];
  /** Pictures of the file, where it can hold several. */
  readonly frames?: number;
  /** When it was taken, s after the first of a film, by its frame rate. */
  readonly sinceFirstS?: number;
}

export type PictureRead = Picture | PictureFailure;

/** Cards from words; a name that no FITS keyword can have is left out. */
export function cardsOf(words: readonly (readonly [string, string])[]): FitsCard[] {
  const cards: FitsCard[] = [];
  for (const [name, text] of words) {
    const keyword = name.trim().toUpperCase();
    if (!/^[A-Z0-9_-]{1,8}$/.test(keyword)) continue;
    const number = text.trim() === '' ? Number.NaN : Number(text);
    cards.push({
      number: cards.length + 1,
      keyword,
      value: Number.isFinite(number) ? number : text.trim(),
      comment: '',
    });
  }
  return cards;
}

/**
 * Number of bytes that `deflate` makes of one at most (RFC 1951: 258 bytes by two bits, less its headers).
 */
export const mostInflation = 1032;

export const errorText = (error: unknown): string => (error instanceof Error ? error.message : String(error));

/** Red, green and blue of each pixel, or undefined where a number has no color. */
export function throughPalette(
  numbers: ArrayLike<number>,
  palette: readonly (readonly number[])[],
): Uint8Array | undefined {
  const out = new Uint8Array(3 * numbers.length);
  for (let k = 0; k < numbers.length; k++) {
    const color = palette[numbers[k]];
    if (color === undefined) return undefined;
    for (let c = 0; c < 3; c++) out[3 * k + c] = color[c];
  }
  return out;
}
