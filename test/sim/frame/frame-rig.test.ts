/** A frame's rig is its own: from its header, never another telescope's. */
import { createImage, defaultCamera } from '@holdfast/psf';
import {
  type FitsKeyword,
  type FrameImage,
  frameToFits,
  readFrameFile,
  rigCamera,
  rigOfFrame,
  writeFits,
} from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../../expect-within.ts';

const image = createImage(40, 30);

async function frameOf(bytes: Uint8Array): Promise<FrameImage> {
  const result = await readFrameFile(bytes);
  if (!result.ok) throw new Error(result.message);
  return result;
}
const frameWith = (header: readonly FitsKeyword[]) => frameOf(writeFits(image, { header }));

describe('the rig of a frame', () => {
  test('values beyond 12 bits are those of a camera of more bits, not saturated ones', async () => {
    const bright = createImage(40, 30);
    bright.data.fill(9001);
    const lengths = { apertureMm: 100, focalLengthMm: 500, pixelSizeUm: 3 };
    const found = rigOfFrame(
      await frameOf(writeFits(bright, { bitpix: 16, header: [{ keyword: 'EGAIN', value: 1 }] })),
      lengths,
    );
    expect(found).toMatchObject({ started: { rig: { guideCamera: { bitDepth: 16, fullWellE: 65535 } } } });
    const padded = createImage(40, 30);
    padded.data.fill(16 * 4000);
    const usual = rigOfFrame(await frameOf(writeFits(padded, { bitpix: 16 })), lengths);
    expect(usual).toMatchObject({ started: { rig: { guideCamera: { bitDepth: 12 } } } });
  });
  test('what a simulated frame says comes back, of a pixel of the sensor; the camera measures as it was', async () => {
    // Binned 2 x 2 after reading: twice the noise, four times the offset and the range of one pixel.
    const camera = {
      ...defaultCamera,
      exposureS: 3,
      gainEPerAdu: 0.8,
      readNoiseE: 5,
      offsetAdu: 240,
      bitDepth: 14,
    };
    const info = {
      pixelSizeUm: 7.5,
      focalLengthMm: 2200,
      apertureMm: 220,
      obstructionRatio: 0.36,
      binning: 2,
    };
    const frame = await frameOf(frameToFits(image, camera, info));
    const found = rigOfFrame(frame);
    expect(found).toMatchObject({
      ok: true,
      started: {
        rig: {
          telescope: { apertureMm: 220, focalLengthMm: 2200, obstructionRatio: 0.36 },
          guideCamera: {
            pixelSizeUm: 3.75,
            binning: 2,
            exposureS: 3,
            gainEPerAdu: 0.8,
            readNoiseE: 2.5,
            offsetAdu: 60,
            fullWellE: expect.closeTo(((2 ** 14 - 1 - 240) / 4) * 0.8),
          },
        },
      },
    });
    if (!found.ok) throw new Error('no rig');
    const { measure, notes } = rigCamera(found.started.rig, frame);
    expect(notes).toEqual([]);
    expect(measure).toMatchObject({ readNoiseE: 5, offsetAdu: 240, fNumber: 10, pixelSizeUm: 7.5 });
    expectWithin(measure.saturationAdu!, 2 ** 14 - 1, 1, 'one ADU of rounding');
  });
  test('what is missing is asked for with the option that gives it, and what pixels need is there', async () => {
    const found = rigOfFrame(
      await frameWith([
        { keyword: 'FOCALLEN', value: 2350 },
        { keyword: 'EGAIN', value: 1.7 },
      ]),
    );
    expect(found).toMatchObject({
      ok: false,
      missing: [{ option: '--aperture' }, { option: '--pixel', label: 'pixel of the guide camera' }],
      camera: { measure: { gainEPerAdu: 1.7 } },
    });
    expect(found.ok === false && Object.keys(found.camera.measure)).not.toContain('pixelSizeUm');
  });
  test('an f/10 ring of 22 px is 825 µm from focus, not the 314 of an F/4 telescope', async () => {
    const found = rigOfFrame(
      await frameWith([
        { keyword: 'FOCALLEN', value: 2350 },
        { keyword: 'XPIXSZ', value: 3.75 },
      ]),
      {
        apertureMm: 235,
      },
    );
    if (!found.ok) throw new Error('no rig');
    const { telescope, guideCamera } = found.started.rig;
    const shiftUm = (22 * guideCamera.pixelSizeUm * telescope.focalLengthMm) / telescope.apertureMm;
    expectWithin(shiftUm, 825, 1e-9, 'ring diameter times F-number');
    expect(found.fromHeader).toEqual(['focalLengthMm', 'pixelSizeUm']);
  });
});
