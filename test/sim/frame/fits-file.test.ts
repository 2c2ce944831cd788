import { gzipSync } from 'node:zlib';
import { readFits, readFitsFile, readFrameFile } from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
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

describe('reading is bounded', () => {
  const header = (side: number): Uint8Array => {
    const cards = [
      'SIMPLE  =                    T',
      'BITPIX  =                   16',
      'NAXIS   =                    2',
    ];
    cards.push(`NAXIS1  = ${String(side).padStart(20)}`, `NAXIS2  = ${String(side).padStart(20)}`, 'END');
    return new TextEncoder().encode(
      cards
        .map((card) => card.padEnd(80))
        .join('')
        .padEnd(2880),
    );
  };
  const bomb = (side: number, size: number): Uint8Array => {
    const plain = new Uint8Array(size);
    plain.set(header(side));
    return new Uint8Array(gzipSync(plain));
  };

  test('what follows the first image is not kept, and of more than 64 MiB of it the file is refused', async () => {
    const read = await readFitsFile(bomb(40, 2 ** 22));
    expect(read.ok && read.image.shape).toEqual([40, 40]);
    expect(await readFitsFile(bomb(40, 2 ** 26 + 2 ** 14))).toMatchObject({ ok: false, reason: 'too-large' });
  });

  test('a header of more pixels than allowed ends it, and so do bytes of no known kind', async () => {
    const large = await readFitsFile(bomb(20_000, 2 ** 22));
    expect(large).toMatchObject({ ok: false, reason: 'too-large' });
    expect(large.ok || large.message).toBe('HDU 0: 20000 x 20000 pixels are more than the 150000000 allowed');
    const zeros = new Uint8Array(gzipSync(new Uint8Array(2 ** 26)));
    expect(await readFitsFile(zeros)).toMatchObject({ ok: false, reason: 'not-fits' });
    expect(await readFrameFile(zeros)).toMatchObject({ ok: false, reason: 'unknown-kind' });
    expect(readFits(header(40), { maxPixels: 1599 })).toMatchObject({ ok: false, reason: 'too-large' });
    expect(() => readFits(header(40), { maxPixels: 0 })).toThrow('maxPixels must be > 0, got 0');
  });
});
