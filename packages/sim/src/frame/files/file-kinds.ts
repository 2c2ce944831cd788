/** What kind of file the first bytes tell, and what to make of one that is not read. */

export type FrameKind = 'fits' | 'png' | 'tiff' | 'netpbm' | 'y4m' | 'avi';

interface FileKind {
  readonly name: string;
  /** Absent for a kind that is not read. */
  readonly read?: FrameKind;
  /** What to do with a file that is not read. */
  readonly remedy?: string;
  /** Letters or numbers of the first bytes. */
  readonly begins: string | readonly number[];
  /** Where they stand, if not at the beginning. */
  readonly from?: number;
}

const picture = { remedy: 'convert it to FITS, or to TIFF or PNG of 16 bits' };
const lossyPicture = {
  remedy: 'its compression alters faint light: save frames as FITS, or as TIFF or PNG of 16 bits',
};
const lossyFilm = {
  remedy:
    'its compression alters faint light: record without compression, or convert it to Y4M or to AVI without compression',
};
const archive = { remedy: 'unpack it first' };

/** From memory of the formats' own texts; what is read is tested with files of other programs. */
const known: readonly FileKind[] = [
  { name: 'a FITS file', read: 'fits', begins: 'SIMPLE' },
  { name: 'a PNG picture', read: 'png', begins: [0x89, 0x50, 0x4e, 0x47] },
  { name: 'a TIFF picture', read: 'tiff', begins: [0x49, 0x49, 0x2a, 0x00] },
  { name: 'a TIFF picture', read: 'tiff', begins: [0x4d, 0x4d, 0x00, 0x2a] },
  { name: 'a PGM picture', read: 'netpbm', begins: 'P2' },
  { name: 'a PPM picture', read: 'netpbm', begins: 'P3' },
  { name: 'a PGM picture', read: 'netpbm', begins: 'P5' },
  { name: 'a PPM picture', read: 'netpbm', begins: 'P6' },
  { name: 'a Y4M film', read: 'y4m', begins: 'YUV4MPEG2 ' },
  { name: 'an AVI film', read: 'avi', begins: 'AVI ', from: 8 },
  { name: 'a BigTIFF picture', ...picture, begins: [0x49, 0x49, 0x2b, 0x00] },
  { name: 'a BigTIFF picture', ...picture, begins: [0x4d, 0x4d, 0x00, 0x2b] },
  { name: 'a PBM picture', ...picture, begins: 'P1' },
  { name: 'a PBM picture', ...picture, begins: 'P4' },
  { name: 'a PAM picture', ...picture, begins: 'P7' },
  { name: 'a PFM picture', ...picture, begins: 'Pf' },
  { name: 'a PFM picture', ...picture, begins: 'PF' },
  { name: 'a GIF picture', ...picture, begins: 'GIF8' },
  { name: 'a BMP picture', ...picture, begins: 'BM' },
  { name: 'an OpenEXR picture', ...picture, begins: [0x76, 0x2f, 0x31, 0x01] },
  { name: 'a NumPy array', ...picture, begins: [0x93, 0x4e, 0x55, 0x4d, 0x50, 0x59] },
  { name: 'an HDF5 file', ...picture, begins: [0x89, 0x48, 0x44, 0x46] },
  { name: 'a JPEG picture', ...lossyPicture, begins: [0xff, 0xd8, 0xff] },
  { name: 'a JPEG 2000 picture', ...lossyPicture, begins: 'jP  ', from: 4 },
  { name: 'a WebP picture', ...lossyPicture, begins: 'WEBP', from: 8 },
  { name: 'an HEIF picture', ...lossyPicture, begins: 'ftyphei', from: 4 },
  { name: 'an AVIF picture', ...lossyPicture, begins: 'ftypavif', from: 4 },
  { name: 'an MP4 or QuickTime film', ...lossyFilm, begins: 'ftyp', from: 4 },
  { name: 'a QuickTime film', ...lossyFilm, begins: 'moov', from: 4 },
  { name: 'a Matroska or WebM film', ...lossyFilm, begins: [0x1a, 0x45, 0xdf, 0xa3] },
  { name: 'an Ogg film', ...lossyFilm, begins: 'OggS' },
  { name: 'an MPEG film', ...lossyFilm, begins: [0x00, 0x00, 0x01, 0xba] },
  { name: 'an ASF film', ...lossyFilm, begins: [0x30, 0x26, 0xb2, 0x75] },
  { name: 'a Flash film', ...lossyFilm, begins: 'FLV' },
  { name: 'a ZIP archive', ...archive, begins: [0x50, 0x4b, 0x03, 0x04] },
  { name: 'a bzip2 archive', ...archive, begins: 'BZh' },
  { name: 'an xz archive', ...archive, begins: [0xfd, 0x37, 0x7a, 0x58, 0x5a] },
  { name: 'a Zstandard archive', ...archive, begins: [0x28, 0xb5, 0x2f, 0xfd] },
  { name: 'a 7z archive', ...archive, begins: [0x37, 0x7a, 0xbc, 0xaf] },
  { name: 'a tar archive', ...archive, begins: 'ustar', from: 257 },
  { name: 'a PDF document', ...picture, begins: '%PDF' },
];

/** Undefined when the first bytes are of no known kind. */
export const kindOf = (bytes: Uint8Array): FileKind | undefined =>
  known.find(({ begins, from = 0 }) =>
    typeof begins === 'string'
      ? Array.from(begins).every((letter, k) => bytes[from + k] === letter.charCodeAt(0))
      : begins.every((byte, k) => bytes[from + k] === byte),
  );
