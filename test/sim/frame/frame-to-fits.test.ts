import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createImage, defaultCamera, exposeFrame, frameToAdu, randomStream } from '@holdfast/psf';
import {
  frameFacts,
  frameToFits,
  ownKeywords,
  readFits,
  readFrameFile,
  version,
  writeFits,
} from '@holdfast/sim';
import { fitsNumber, fitsText } from '@holdfast/sim/internal';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../../expect-within.ts';

const expected = createImage(31, 23);
for (let k = 0; k < expected.data.length; k++) expected.data[k] = 20 + 3 * k;
const camera = { ...defaultCamera, exposureS: 2.5, gainEPerAdu: 0.7, offsetAdu: 80, fullWellE: 2600 };
const frame = exposeFrame(expected, camera, randomStream('fits', 1));
const info = {
  startMs: Date.UTC(2024, 1, 29, 23, 59, 59, 250),
  pixelSizeUm: 3.75,
  focalLengthMm: 800,
  apertureMm: 200,
  object: 'one star',
  telescope: 'Fast reflector, 200 mm F/4',
  focuserPosition: 10234,
  history: ['seed fits, 1', 'focus shift 120 um'],
};

function read(bytes: Uint8Array) {
  const result = readFits(bytes);
  if (!result.ok) throw new Error(result.message);
  return result;
}

describe('a simulated frame as FITS', () => {
  const result = read(frameToFits(frame, camera, info));
  test('holds the numbers of the camera, to the last', () => {
    expect(result.image.data).toEqual(frameToAdu(frame, camera).data);
    expect(result).toMatchObject({ bitpix: 16, warnings: [], saturationAdu: 4095 });
  });
  test('says how it was taken, and that it was not', () => {
    const { header } = result;
    expect(frameFacts(header)).toEqual({
      startMs: info.startMs,
      exposureS: 2.5,
      gainEPerAdu: 0.7,
      binning: 1,
      focuserPosition: 10234,
      pixelSizeUm: 3.75,
      focalLengthMm: 800,
      apertureMm: 200,
      readNoiseE: 1.5,
      offsetAdu: 80,
      saturationAdu: 4095,
    });
    expect(fitsText(header, 'DATE-OBS')).toBe('2024-02-29T23:59:59.250');
    expect(fitsText(header, 'OBJECT')).toBe('one star');
    for (const [keyword, value] of [
      ['HFRDNOIS', 1.5],
      ['HFSATUR', 4095],
      ['XPOSURE', 2.5],
      ['CRVAL1', 0],
      ['PC1_1', 1],
    ] as const)
      expect(fitsNumber(header, keyword)).toBe(value);
    // 206265 arcsec per radian: a pixel of 3.75 um at 800 mm.
    expectWithin(fitsNumber(header, 'CDELT1') ?? 0, 0.96687, 1e-5, 'digits of the reference');
    expect(fitsText(header, 'DATE-BEG')).toBe('2024-02-29T23:59:59.250');
    expect(fitsText(header, 'DATE-END')).toBe('2024-03-01T00:00:01.750');
    const history = header.cards.filter(({ keyword }) => keyword === 'HISTORY').map(({ comment }) => comment);
    expect(history).toEqual([
      `Simulated by holdfast ${version}: no light was measured.`,
      'Offset of the camera: 80 adu; its bits: 12.',
      ...info.history,
    ]);
  });
  test('without anything known, only what the camera is', () => {
    const { header } = read(frameToFits(frame, camera));
    expect(frameFacts(header)).toEqual({
      exposureS: 2.5,
      gainEPerAdu: 0.7,
      binning: 1,
      readNoiseE: 1.5,
      offsetAdu: 80,
      saturationAdu: 4095,
    });
  });
  test('every keyword is reserved by FITS 4.0, of its world coordinates, or documented as our own', () => {
    // FITS 4.0, sections 4.4.1, 4.4.2, 8.2 and 9: those that we may use (from memory of the tables).
    const reserved =
      /^(SIMPLE|BITPIX|NAXIS\d*|EXTEND|BSCALE|BZERO|BUNIT|OBJECT|TELESCOP|INSTRUME|DATE-(OBS|BEG|END)|TIMESYS|XPOSURE|HISTORY|COMMENT|END)$/;
    const world = /^(WCSAXES|(CTYPE|CUNIT|CRPIX|CRVAL|CDELT)[12]|PC[12]_[12])$/;
    for (const { keyword, comment } of result.header.cards) {
      const isOwn = Object.hasOwn(ownKeywords, keyword);
      expect(reserved.test(keyword) || world.test(keyword) || isOwn, keyword).toBe(true);
      if (isOwn) expect(comment).toBe(ownKeywords[keyword as keyof typeof ownKeywords]);
    }
  });
  test('keywords of programs are read for interchange', () => {
    const header = [
      { keyword: 'EXPTIME', value: 3 },
      { keyword: 'EGAIN', value: 0.4 },
      { keyword: 'XPIXSZ', value: 2.9 },
      { keyword: 'FOCALLEN', value: 1200 },
      { keyword: 'APTDIA', value: 120 },
      { keyword: 'FOCUSPOS', value: 77 },
    ];
    expect(frameFacts(read(writeFits(frame, { header })).header)).toEqual({
      exposureS: 3,
      gainEPerAdu: 0.4,
      pixelSizeUm: 2.9,
      focalLengthMm: 1200,
      apertureMm: 120,
      focuserPosition: 77,
    });
  });
  test('sums that outgrow 16 bits become floating point', () => {
    const wide = { ...camera, bitDepth: 18, fullWellE: 200_000 };
    const bright = createImage(5, 4);
    bright.data.fill(150_000);
    const wideFrame = exposeFrame(bright, wide, randomStream('wide'));
    const wideResult = read(frameToFits(wideFrame, wide));
    expect(wideResult.bitpix).toBe(-64);
    expect(wideResult.image.data).toEqual(frameToAdu(wideFrame, wide).data);
    expect(wideResult.saturationAdu).toBe(2 ** 18 - 1);
  });
  test('goes through the reader of all kinds', async () => {
    const again = await readFrameFile(frameToFits(frame, camera, info));
    expect(again).toMatchObject({ ok: true, kind: 'fits', saturationAdu: 4095 });
  });
  test('a bad call throws', () => {
    expect(() => frameToFits(frame, camera, { pixelSizeUm: Number.NaN })).toThrow(
      'pixelSizeUm must be a finite number, got NaN',
    );
    expect(() => frameToFits(frame, camera, { history: ['µm'] })).toThrow('printable ASCII');
    const holed = createImage(3, 2);
    holed.data[4] = Number.NaN;
    expect(() => frameToFits(holed, camera)).toThrow(
      'frame must be finite everywhere, got NaN at x = 1, y = 1',
    );
  });
});

const verifier = spawnSync('fitsverify', ['-h']).error === undefined;
test.skipIf(!verifier)(
  `fitsverify finds no error and no warning${verifier ? '' : ' (skipped: fitsverify is not installed)'}`,
  () => {
    const folder = mkdtempSync(join(tmpdir(), 'holdfast-'));
    const file = join(folder, 'frame.fits');
    writeFileSync(file, frameToFits(frame, camera, info));
    const said = execFileSync('fitsverify', [file], { encoding: 'utf8' });
    rmSync(folder, { recursive: true });
    expect(said).toContain('Verification found 0 warning(s) and 0 error(s).');
  },
);
