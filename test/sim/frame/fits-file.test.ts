import { gzipSync } from 'node:zlib';
import { readFits, readFitsFile } from '@holdfast/sim';
import { expect, test } from 'vitest';
import { fitsUnit, joinBytes, mandatoryCards, storedValues } from './fits-bytes.ts';

const plain = fitsUnit(mandatoryCards(16, [3, 2]), storedValues(16, [1, 2, 3, 4, 5, 6]));
const zipped = new Uint8Array(gzipSync(plain));

test('plain and gzip give the same image, from bytes, an ArrayBuffer and a Blob', async () => {
  const expected = readFits(plain);
  expect(expected.ok).toBe(true);
  for (const bytes of [plain, zipped])
    for (const source of [bytes, new Uint8Array(bytes).buffer, new Blob([new Uint8Array(bytes)])])
      expect(await readFitsFile(source)).toEqual(expected);
});

test('options are passed on', async () => {
  expect(await readFitsFile(zipped, { plane: 1 })).toMatchObject({ ok: false, reason: 'no-such-plane' });
});

test('a gzip stream cut anywhere is refused, never read in part', async () => {
  for (let length = 2; length < zipped.length; length += 7)
    expect(await readFitsFile(zipped.subarray(0, length))).toMatchObject({
      ok: false,
      reason: 'gzip-damaged',
      message: expect.stringMatching(/^the gzip stream of \d+ bytes broke after \d+ bytes came out/),
    });
});

test('a gzip stream whose checksum does not fit is refused', async () => {
  const corrupt = zipped.slice();
  corrupt[zipped.length - 6] = zipped[zipped.length - 6]! ^ 1;
  expect(await readFitsFile(corrupt)).toMatchObject({ ok: false, reason: 'gzip-damaged' });
});

test('a stream that swells beyond the limit is stopped', async () => {
  const bomb = new Uint8Array(gzipSync(joinBytes(plain, new Uint8Array(20_000_000))));
  expect(await readFitsFile(bomb, { maxInflatedBytes: 1_000_000 })).toMatchObject({
    ok: false,
    reason: 'too-large',
    message: `the gzip stream of ${bomb.length} bytes holds more than the 1000000 bytes allowed`,
  });
});

test('gzip within gzip, and gzip of something else, are not FITS', async () => {
  expect(await readFitsFile(new Uint8Array(gzipSync(zipped)))).toMatchObject({ reason: 'not-fits' });
  expect(await readFitsFile(new Uint8Array(gzipSync('hello')))).toMatchObject({ reason: 'not-fits' });
});

test('another kind of source throws', async () => {
  await expect(readFitsFile('a.fits' as unknown as Uint8Array)).rejects.toThrow(TypeError);
});
