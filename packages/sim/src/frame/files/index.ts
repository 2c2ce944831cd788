/**
 * A frame from its file: FITS, pictures, films; many colors made one image.
 *
 * file-bytes       bytes from what holds them; gzip
 * frame-file       a frame from a file of any kind, told by its first bytes; every frame of a film
 * file-kinds       kinds by their first bytes; what to make of one that is not read
 * frame-image      what comes of it, and what may be asked of the reader
 * frame-facts      when and how it was taken, by its header
 * picture          PNG and TIFF by their decoders, refused where those would err
 * png-chunks       PNG and TIFF by their decoders, refused where those would err
 * png-read         PNG and TIFF by their decoders, refused where those would err
 * tiff-read        PNG and TIFF by their decoders, refused where those would err
 * color-channels  one image out of many colors
 * mosaic           one image out of many colors
 * frame-mosaic     one image out of many colors
 * rounding         what rounding to 8 bits costs, by the noise of the frame
 * films/           PGM, PPM, Y4M and AVI
 * fits/            FITS files in and out.
 */

export type { ColorTake } from './color-channels.ts';
export type { BlobBytes, ByteSource } from './file-bytes.ts';
export type { FrameKind } from './file-kinds.ts';
export * from './fits/index.ts';
export { type FrameFacts, frameFacts } from './frame-facts.ts';
export { readFrameFile } from './frame-file.ts';
export type { FrameFailure, FrameFileOptions, FrameImage, FrameReadResult } from './frame-image.ts';
export type { MosaicPattern, PixelSampling } from './mosaic.ts';
export type { PictureFailureReason } from './picture.ts';
