/**
 * A real frame: its file in and out, and the stars measured in it.
 *
 * fits-read      one image out of the bytes of a FITS file, or the exact reason why there is none
 * fits-file      the same from a file on disk or from a file picker, gzip or not
 * fits-write     FITS bytes from an image
 * fits-header    keywords of a header by name
 * ring-fit       diameters, hole and blur of a star's ring, each with its error; the focus shift they imply
 *
 * Behind them: fits-card (one card), fits-hdu (one header and data unit), fits-data (pixels from bytes),
 * fits-signature (what the first bytes say), fits-write-card (keywords as cards); ring-model (the picture fitted), ring-start (a first
 * guess), ring-descent (the steps), ring-normal (their sums), ring-weights (how much a pixel counts), ring-covariance and
 * ring-error (errors where light is uneven), ring-derived (what follows), symmetric-matrix, require.
 */
export type { FitsCard, FitsComplex, FitsValue } from './fits-card.ts';
export { type FitsFileOptions, readFitsFile } from './fits-file.ts';
export type { FitsFailure, FitsFailureReason } from './fits-hdu.ts';
export { type FitsHeader, fitsNumber, fitsText, fitsValue } from './fits-header.ts';
export { type FitsImage, type FitsReadOptions, type FitsReadResult, readFits } from './fits-read.ts';
export { type FitsWriteOptions, writeFits } from './fits-write.ts';
export type { FitsKeyword } from './fits-write-card.ts';
export {
  fitRing,
  type RingFailureReason,
  type RingFit,
  type RingFitOptions,
  type RingFound,
} from './ring-fit.ts';
