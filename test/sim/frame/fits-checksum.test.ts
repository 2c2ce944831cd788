/** Damage that the file itself can tell of: DATASUM and CHECKSUM. */
import { readFits } from '@holdfast/sim';
import { expect, test } from 'vitest';
import { card, fitsUnit, mandatoryCards, storedValues } from './fits-bytes.ts';

const values = Array.from({ length: 100 }, (_, k) => k);
/**
 * The words are (2k, 2k + 1) for k from 0 to 49: 2450 x 65536 + 2500 (derived; the same number is in the
 * tests of other readers, from memory).
 */
const dataSum = 2450 * 65536 + 2500;

/** A sum as 16 characters, none of them punctuation (FITS standard 4.0, appendix J.2). */
function encoded(sum: number): string {
  const complement = 0xffffffff - sum;
  const text = Array<string>(16).fill('0');
  for (let byte = 0; byte < 4; byte++) {
    const value = Math.floor(complement / 256 ** (3 - byte)) % 256;
    const parts = Array.from({ length: 4 }, (_, k) => Math.floor(value / 4) + (k === 0 ? value % 4 : 0) + 48);
    const isPunctuation = (code: number) => (code >= 58 && code <= 64) || (code >= 91 && code <= 96);
    while (parts.some(isPunctuation))
      for (const k of [0, 2])
        if (isPunctuation(parts[k]!) || isPunctuation(parts[k + 1]!)) {
          parts[k]!++;
          parts[k + 1]!--;
        }
    // One character of each byte lands in each word, shifted by one place.
    parts.forEach((code, k) => {
      text[(4 * k + byte + 1) % 16] = String.fromCharCode(code);
    });
  }
  return text.join('');
}

/** Plain sum of words, with the carries added at the end. */
function sumOf(bytes: Uint8Array): number {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  let sum = 0n;
  for (let k = 0; k < bytes.length; k += 4) sum += BigInt(view.getUint32(k));
  while (sum > 0xffffffffn) sum = (sum & 0xffffffffn) + (sum >> 32n);
  return Number(sum);
}

function unit(checksum: string): Uint8Array {
  return fitsUnit(
    [
      ...mandatoryCards(16, [10, 10]),
      `DATASUM = '${dataSum}'`.padEnd(80),
      `CHECKSUM= '${checksum}'`.padEnd(80),
      card('GAIN', 2),
    ],
    storedValues(16, values),
  );
}
const whole = unit(encoded(sumOf(unit('0'.repeat(16)))));

const warningsOf = (bytes: Uint8Array): readonly string[] => {
  const read = readFits(bytes);
  if (!read.ok) throw new Error(read.message);
  return read.warnings;
};

test('the worked example of the standard: 868229149 becomes hcHjjc9ghcEghc9g (from memory)', () => {
  expect(encoded(868229149)).toBe('hcHjjc9ghcEghc9g');
});

test('a file that is as it was written says nothing', () => {
  expect(warningsOf(whole)).toEqual([]);
});

test('one wrong bit in the pixels is told, by both sums', () => {
  const damaged = whole.slice();
  damaged[2880 + 51] = damaged[2880 + 51]! ^ 4;
  expect(warningsOf(damaged)).toEqual([
    expect.stringMatching(/the pixels are damaged: they sum to \d+, DATASUM says 160565700/),
    expect.stringMatching(/CHECKSUM/),
  ]);
});

test('one wrong digit in the header is told', () => {
  const damaged = whole.slice();
  const at = 80 * 7 + 29;
  expect(String.fromCharCode(damaged[at]!)).toBe('2');
  damaged[at] = '3'.charCodeAt(0);
  expect(warningsOf(damaged)).toEqual([expect.stringMatching(/header or pixels are damaged/)]);
});

test('a sum that was never computed is no fault', () => {
  expect(warningsOf(unit(''.padEnd(8)))).toEqual([]);
});
