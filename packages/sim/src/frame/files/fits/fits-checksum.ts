/**
 * DATASUM and CHECKSUM: whether the bytes of a unit are those that were written (FITS standard 4.0, 4.4.2.7
 * and appendix J).
 */
import type { Hdu } from './fits-hdu.ts';
import { fitsText } from './fits-header.ts';

/**
 * One's-complement sum of the big-endian 32-bit words from `start` to `end`; bytes that are missing count as
 * 0.
 */
function onesSum(bytes: Uint8Array, start: number, end: number): number {
  let high = 0;
  let low = 0;
  for (let k = start; k < end; k += 4) {
    high += ((bytes[k] ?? 0) << 8) | (bytes[k + 1] ?? 0);
    low += ((bytes[k + 2] ?? 0) << 8) | (bytes[k + 3] ?? 0);
  }
  // Carries go round: from the top of one half to the bottom of the other. The halves stay below 2^53 for any
  // file.
  while (high > 0xffff || low > 0xffff) {
    const carryHigh = Math.floor(high / 65536);
    const carryLow = Math.floor(low / 65536);
    high = (high % 65536) + carryLow;
    low = (low % 65536) + carryHigh;
  }
  return high * 65536 + low;
}

/** What is wrong with a unit by its own checksums, for people; nothing where it has none. */
export function checksumFaults(bytes: Uint8Array, hdu: Hdu): string[] {
  const faults: string[] = [];
  const written = fitsText(hdu.header, 'DATASUM')?.trim();
  if (written !== undefined && /^\d+$/.test(written)) {
    const sum = onesSum(bytes, hdu.dataStart, hdu.next);
    if (sum !== Number(written))
      faults.push(`the pixels are damaged: they sum to ${sum}, DATASUM says ${written}`);
  }
  const whole = fitsText(hdu.header, 'CHECKSUM')?.trim();
  // The keyword is chosen so that all of the unit sums to ones; an empty one says that it was never computed.
  if (whole !== undefined && whole !== '' && !isAllOnes(onesSum(bytes, hdu.start, hdu.next)))
    faults.push('header or pixels are damaged: the unit does not sum to what CHECKSUM says');
  return faults;
}

const isAllOnes = (sum: number): boolean => sum === 0xffffffff || sum === 0;
