/** What the first bytes say that a file is. */
import { textAt } from './fits-header.ts';

export function isGzip(bytes: Uint8Array): boolean {
  return bytes[0] === 0x1f && bytes[1] === 0x8b;
}

/** First bytes of formats, those that are often given by mistake among them. */
const known: readonly [string, readonly number[]][] = [
  ['a FITS file', [0x53, 0x49, 0x4d, 0x50, 0x4c, 0x45]],
  ['a PNG picture', [0x89, 0x50, 0x4e, 0x47]],
  ['a TIFF picture', [0x49, 0x49, 0x2a, 0x00]],
  ['a TIFF picture', [0x4d, 0x4d, 0x00, 0x2a]],
  ['a BigTIFF picture', [0x49, 0x49, 0x2b, 0x00]],
  ['a BigTIFF picture', [0x4d, 0x4d, 0x00, 0x2b]],
  ['a JPEG picture', [0xff, 0xd8, 0xff]],
  ['a ZIP archive', [0x50, 0x4b, 0x03, 0x04]],
  ['a bzip2 archive', [0x42, 0x5a, 0x68]],
];

/** `'a PNG picture'`, or undefined when the first bytes are of no known sort. */
export function formatName(bytes: Uint8Array): string | undefined {
  return known.find(([, magic]) => magic.every((byte, k) => bytes[k] === byte))?.[0];
}

/** Undefined when the bytes begin as a FITS file must, else a sentence on what they are. */
export function foreignFormat(bytes: Uint8Array): string | undefined {
  if (textAt(bytes, 0, 6) === 'SIMPLE') return undefined;
  if (bytes.length === 0) return 'not a FITS file: there are no bytes';
  const name = formatName(bytes);
  const looks = name === undefined ? '' : `: this looks like ${name}`;
  return `not a FITS file${looks}; it begins with ${firstBytes(bytes)} instead of 'SIMPLE  ='`;
}

/** `'..IHDR..' (89 50 4e 47 ...)` */
export function firstBytes(bytes: Uint8Array): string {
  const first = Array.from(bytes.subarray(0, 8));
  const hex = first.map((byte) => byte.toString(16).padStart(2, '0')).join(' ');
  const text = first.map((byte) => (byte >= 32 && byte < 127 ? String.fromCharCode(byte) : '.')).join('');
  return `'${text}' (${hex})`;
}
