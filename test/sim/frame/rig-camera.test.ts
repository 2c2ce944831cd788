import { createImage, randomStream } from '@holdfast/psf';
import { type FrameImage, readFrameFile, rigCamera, writeFits } from '@holdfast/sim';
import { expect, test } from 'vitest';
import { smallRig } from '../small-rig.ts';

const rig = smallRig();
const { guideCamera, telescope } = rig;

async function frame(
  pixelOf: (normal: number, k: number) => number,
  header: { keyword: string; value: string | number }[] = [],
): Promise<FrameImage> {
  const image = createImage(40, 30);
  const random = randomStream('rig camera');
  for (let k = 0; k < image.data.length; k++)
    image.data[k] = Math.round(Math.min(65535, Math.max(0, pixelOf(random.normal(), k))));
  const read = await readFrameFile(writeFits(image, { bitpix: 16, header }));
  if (!read.ok) throw new Error(read.message);
  return read;
}

const raw = (normal: number) => guideCamera.offsetAdu + 20 + 5 * normal;
const top = Math.min(
  2 ** guideCamera.bitDepth - 1,
  guideCamera.fullWellE / guideCamera.gainEPerAdu + guideCamera.offsetAdu,
);

test('a raw frame of the rig: all as the rig says', async () => {
  expect(rigCamera(rig, await frame(raw))).toEqual({
    measure: {
      gainEPerAdu: guideCamera.gainEPerAdu,
      offsetAdu: guideCamera.offsetAdu,
      readNoiseE: guideCamera.readNoiseE,
      saturationAdu: top,
      fNumber: telescope.focalLengthMm / telescope.apertureMm,
      pixelSizeUm: guideCamera.pixelSizeUm,
      obstructionRatio: telescope.obstructionRatio,
    },
    binning: 1,
    exposureS: guideCamera.exposureS,
    perRigExposure: 1,
    notes: [],
  });
});

test('the header is believed, and it is said', async () => {
  const header = [
    { keyword: 'EXPTIME', value: 2 * guideCamera.exposureS },
    { keyword: 'EGAIN', value: 3 * guideCamera.gainEPerAdu },
    { keyword: 'XBINNING', value: 2 },
    { keyword: 'YBINNING', value: 2 },
  ];
  const found = rigCamera(rig, await frame((normal) => 4 * guideCamera.offsetAdu + 50 + 5 * normal, header));
  expect(found.measure).toMatchObject({
    gainEPerAdu: 3 * guideCamera.gainEPerAdu,
    offsetAdu: 4 * guideCamera.offsetAdu,
    readNoiseE: 2 * guideCamera.readNoiseE,
    pixelSizeUm: 2 * guideCamera.pixelSizeUm,
    saturationAdu: Math.min(65535, 4 * top),
  });
  expect(found).toMatchObject({ binning: 2, perRigExposure: 0.5 });
  expect(found.notes).toHaveLength(3);
});

test("the header's obstruction holds the hole before the rig's; one of 0 or near 1 holds none", async () => {
  const header = [{ keyword: 'HFOBSTR', value: 0.25 }];
  expect(rigCamera(rig, await frame(raw, header)).measure.obstructionRatio).toBe(0.25);
  for (const obstructionRatio of [0, 0.97]) {
    const own = smallRig({ telescope: { ...telescope, obstructionRatio } });
    expect(rigCamera(own, await frame(raw)).measure).not.toHaveProperty('obstructionRatio');
  }
});

test('a color mosaic: four reads a pixel, twice the side', async () => {
  const found = rigCamera(rig, await frame(raw, [{ keyword: 'BAYERPAT', value: 'RGGB' }]));
  expect(found.measure).toMatchObject({
    offsetAdu: 4 * guideCamera.offsetAdu,
    readNoiseE: 2 * guideCamera.readNoiseE,
    pixelSizeUm: 2 * guideCamera.pixelSizeUm,
    saturationAdu: 4 * top,
  });
  expect(found.binning).toBe(2);
});

test('an offset that is off already is not taken off again', async () => {
  const found = rigCamera(rig, await frame((normal) => 20 + 3 * normal));
  expect(found.measure).toMatchObject({ offsetAdu: 0, saturationAdu: top - guideCamera.offsetAdu });
  expect(found.notes[0]).toMatch(/^its sky of \d+ lies below the rig's offset of/);
});

test('twelve bits stored from the top of sixteen', async () => {
  const found = rigCamera(rig, await frame((normal, k) => 16 * Math.round(k === 7 ? 4000 : raw(normal))));
  expect(found.measure).toMatchObject({
    gainEPerAdu: guideCamera.gainEPerAdu / 16,
    offsetAdu: 16 * guideCamera.offsetAdu,
    saturationAdu: 16 * top,
  });
  expect(found.notes[0]).toMatch(/^its values are multiples of 16: 12 bits stored from the top of 16/);
  const other = rigCamera(rig, await frame((normal, k) => (k === 7 ? 40_001 : raw(normal))));
  expect(other.measure.gainEPerAdu).toBe(guideCamera.gainEPerAdu);
  // the end of the file's own numbers, not that of the rig's 12 bits
  expect(other.measure.saturationAdu ?? Infinity).toBeGreaterThan(40_001);
  expect(other.notes[0]).toMatch(
    /^it holds values up to 40001, the rig's 12 bits end at 4095: another camera/,
  );
});
