/** A frame that was read, whatever its file, and what may be asked of the reader. */
import type { ColorTake } from './color-channels.ts';
import type { FrameKind } from './file-kinds.ts';
import type { FitsFileOptions } from './fits/fits-file.ts';
import type { FitsFailureReason } from './fits/fits-hdu.ts';
import type { FitsImage } from './fits/fits-read.ts';
import type { MosaicPattern, PixelSampling } from './mosaic.ts';
import type { PictureFailureReason } from './picture.ts';

/** Which frame of a file is read, and how. */
export interface FrameFileOptions extends FitsFileOptions {
  /**
   * Which frame of a file with several, from 0: page of a TIFF, plane of a FITS cube (one of three planes
   * holds colors, unless this is given), picture of a PGM or PPM, frame of a film. Default 0.
   */
  readonly page?: number;
  /**
   * Of a frame whose pixels have three colors each (RGB, or a FITS cube of three planes) or lie behind a
   * mosaic: the sum of them or one. Default 'sum'. A gray frame is taken as it is.
   */
  readonly color?: ColorTake;
  /**
   * Of a frame behind a mosaic of color filters: what to take of each square of 2 x 2 pixels, and which
   * colors they have, counted from the first row stored. Default: the pattern of the header (BAYERPAT, moved
   * by XBAYROFF and YBAYROFF), and of it what `color` says; a frame without that keyword is taken to have no
   * mosaic. `false`: every pixel as it is.
   */
  readonly mosaic?: { readonly pattern?: MosaicPattern; readonly take?: ColorTake } | false;
}

/** An image and what its file says of it, as `readFits` gives it, whatever the kind of file. */
export interface FrameImage extends FitsImage {
  /** Kind of its file. */
  readonly kind: FrameKind;
  /** How the image's pixels lie on the sensor: a mosaic leaves one for each 2 x 2. */
  readonly sampling: PixelSampling;
  /** Frames of its file, of which `page` takes one; absent where there is one. */
  readonly framesInFile?: number;
  /** When it was taken, s after the first frame of its film, by the frame rate that the film states. */
  readonly sinceFirstS?: number;
}

/** Why a file gave no frame. */
export interface FrameFailure {
  readonly ok: false;
  /** Why, as a word for programs. */
  readonly reason: FitsFailureReason | PictureFailureReason;
  /** The exact reason, with its numbers, for a person to read. */
  readonly message: string;
}

/** A frame, or the reason why there is none; discriminated by `ok`. */
export type FrameReadResult = FrameImage | FrameFailure;

/** A frame before its mosaic is taken apart. */
export interface WholeFrame extends FrameImage {
  /** Its colors are apart already: there is no mosaic. */
  readonly colored: boolean;
}
