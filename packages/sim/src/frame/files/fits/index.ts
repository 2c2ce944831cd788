/**
 * FITS files in and out.
 *
 * fits-card        one card; one header and data unit; pixels from bytes
 * fits-checksum    whether the bytes of a unit are those that were written, by DATASUM and CHECKSUM
 * fits-colors     one image out of many colors
 * fits-data        one card; one header and data unit; pixels from bytes
 * fits-file        the same from a file on disk or from a file picker, gzip or not
 * fits-hdu         one card; one header and data unit; pixels from bytes
 * fits-header      keywords of a header by name
 * fits-read        one image out of the bytes of a FITS file, or the exact reason why there is none
 * fits-signature   what the first bytes say; keywords as cards
 * fits-write-card  what the first bytes say; keywords as cards
 * fits-write       FITS bytes from an image
 * frame-to-fits    a simulated frame as a FITS file
 * own-keywords     the keywords of our own, each with its comment
 */
export type { FitsCard, FitsComplex, FitsValue } from './fits-card.ts';
export { type FitsFileOptions, readFitsFile } from './fits-file.ts';
export type { FitsFailure, FitsFailureReason } from './fits-hdu.ts';
export { type FitsHeader, fitsValue } from './fits-header.ts';
export { type FitsImage, type FitsReadOptions, type FitsReadResult, readFits } from './fits-read.ts';
export { type FitsWriteOptions, writeFits } from './fits-write.ts';
export type { FitsKeyword } from './fits-write-card.ts';
export { type FrameInfo, frameToFits } from './frame-to-fits.ts';
export { ownKeywords } from './own-keywords.ts';
