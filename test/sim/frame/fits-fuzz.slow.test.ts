/**
 * Ten thousand damaged files: each gives an image or a reason, and takes no more memory than its bytes
 * warrant.
 */

import { type FitsFailureReason, readFits } from '@holdfast/sim';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { card, fitsUnit, joinBytes, latin1, mandatoryCards, storedValues } from './fits-bytes.ts';

const whole = [
  fitsUnit(
    [
      ...mandatoryCards(16, [7, 5]),
      card('BZERO', 32768),
      card('BLANK', -1),
      "TEXT    = 'it''s long, &' / comment",
      "CONTINUE  'and goes on'",
      'HIERARCH LENS GROUP = 1.5D0',
      card('SHIFT', '(1.0, 2.0)'),
      'HISTORY by hand',
    ],
    storedValues(
      16,
      Array.from({ length: 35 }, (_, k) => k - 1),
    ),
  ),
  joinBytes(
    fitsUnit([...mandatoryCards(8, []), card('EXTEND', 'T')]),
    fitsUnit(mandatoryCards(8, [4, 2], 'BINTABLE'), new Uint8Array(8)),
    fitsUnit([...mandatoryCards(-32, [3, 2, 4], 'IMAGE'), "EXTNAME = 'SCI'"], new Uint8Array(96)),
  ),
  fitsUnit([...mandatoryCards(64, [3, 2]), card('BLANK', 2)], new Uint8Array(48)),
  fitsUnit(
    [...mandatoryCards(8, [0, 3]), card('GROUPS', 'T'), card('PCOUNT', 5), card('GCOUNT', 3)],
    new Uint8Array(24),
  ),
];

/** Text that a damaged or hostile header might hold. */
const nasty = [
  ...[
    '0',
    '-1',
    '1',
    '2',
    '3',
    '999',
    '1000',
    '65536',
    '2147483648',
    '9007199254740993',
    '1E18',
    '1E308',
    '1E999',
  ],
  ...[
    '-32',
    '-64',
    '12',
    '2.5',
    'T',
    'NaN',
    "'",
    "'&'",
    "''",
    '(1,',
    '',
    '/',
    'END     ',
    'CONTINUE',
    'NAXIS',
    'XTENSION',
  ],
  ...['NAXIS1', 'BITPIX  ', 'HIERARCH ', 'SIMPLE  =', '\u0000\u0000', '\u00ff', '='],
];

const position = fc.integer({ min: 0, max: 11000 });
const change = fc.oneof(
  fc.record({ at: position, text: fc.constantFrom(...nasty) }),
  // the value field of one of the first cards, where the sizes stand
  fc.record({
    at: fc.integer({ min: 0, max: 11 }).map((k) => 80 * k + 10),
    text: fc.constantFrom(...nasty).map((t) => t.padStart(20)),
  }),
  fc.record({
    at: position,
    text: fc.integer({ min: 0, max: 255 }).map((byte) => String.fromCharCode(byte)),
  }),
);

const damaged = fc
  .record({
    file: fc.constantFrom(...whole),
    changes: fc.array(change, { maxLength: 4 }),
    keep: fc.oneof(
      { weight: 3, arbitrary: fc.constant(1) },
      { weight: 1, arbitrary: fc.double({ min: 0, max: 1, noNaN: true }) },
    ),
  })
  .map(({ file, changes, keep }) => {
    const bytes = file.slice(0, Math.floor(file.length * keep));
    for (const { at, text } of changes)
      bytes.set(latin1(text).subarray(0, Math.max(0, bytes.length - at)), Math.min(at, bytes.length));
    return bytes;
  });

const reasons: readonly FitsFailureReason[] = [
  'not-fits',
  'gzip',
  'too-large',
  'truncated',
  'keyword-order',
  'missing-keyword',
  'bad-keyword',
  'compressed-tiles',
  'random-groups',
  'tables-only',
  'no-image',
];

test('ten thousand damaged files give an image or a reason; pixels take at most ten times the file', () => {
  let images = 0;
  const met = new Set<string>();
  fc.assert(
    fc.property(damaged, (bytes) => {
      const before = bytes.slice();
      const result = readFits(bytes);
      expect(Buffer.compare(bytes, before)).toBe(0);
      if (!result.ok) {
        expect(reasons).toContain(result.reason);
        expect(result.message).not.toMatch(/NaN bytes|undefined bytes/);
        met.add(result.reason);
        return;
      }
      images++;
      const { shape, data } = result.image;
      expect(data.length).toBe(shape[0]! * shape[1]!);
      expect(data.length).toBeGreaterThan(0);
      expect(data.byteLength).toBeLessThanOrEqual(10 * bytes.length);
    }),
    { seed: 20240917, numRuns: 10_000 },
  );
  // the damage is neither so slight nor so heavy that one side is hardly tried
  expect(images).toBeGreaterThan(2000);
  expect(met.size).toBeGreaterThanOrEqual(7);
});

test('a file cut at any byte of its header or data is refused; cut in the padding it is read', () => {
  const file = whole[0]!;
  for (let length = 0; length < file.length; length++) {
    const result = readFits(file.subarray(0, length));
    if (length >= 2880 + 70) expect(result.ok).toBe(true);
    else expect(result).toMatchObject({ ok: false, reason: length < 6 ? 'not-fits' : 'truncated' });
  }
});
