/** What the first bytes say that a file is. */
import { kindOf } from '../file-kinds.ts';
import { textAt } from './fits-header.ts';

export function isGzip(bytes: Uint8Array): boolean {
  return bytes[0] === 0x1f && bytes[1] === 0x8b;
}

/** Undefined when the bytes begin as a FITS file must, else a sentence on what they are. */
export function foreignFormat(bytes: Uint8Array): string | undefined {
  if (textAt(bytes, 0, 6) === 'SIMPLE') return undefined;
  if (bytes.length === 0) return 'not a FITS file: there are no bytes';
  const kind = kindOf(bytes);
  const looks = kind === undefined ? '' : `: this looks like ${kind.name}`;
  return `not a FITS file${looks}; it begins with ${firstBytes(bytes)} instead of 'SIMPLE  ='`;
}

/** `'..IHDR..' (89 50 4e 47 ...)` */
export function firstBytes(bytes: Uint8Array): string {
  const first = Array.from(bytes.subarray(0, 8));
  const hex = first.map((byte) => byte.toString(16).padStart(2, '0')).join(' ');
  const text = first.map((byte) => (byte >= 32 && byte < 127 ? String.fromCharCode(byte) : '.')).join('');
  return `'${text}' (${hex})`;
}
