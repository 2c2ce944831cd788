/** A frame's rig is its own: from its header, never another telescope's. */
import { createImage, defaultCamera } from '@holdfast/psf';
import { type FitsKeyword, frameToFits, readFits, rigOfFrame, writeFits } from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../../expect-within.ts';

const image = createImage(40, 30);

function frameWith(header: readonly FitsKeyword[]) {
  const result = readFits(writeFits(image, { header }));
  if (!result.ok) throw new Error(result.message);
  return result;
}

describe('the rig of a frame', () => {
  test('what a simulated frame says comes back', () => {
    const camera = { ...defaultCamera, exposureS: 3, gainEPerAdu: 0.8, readNoiseE: 2.5 };
    const info = {
      pixelSizeUm: 7.5,
      focalLengthMm: 2200,
      apertureMm: 220,
      obstructionRatio: 0.36,
      binning: 2,
    };
    const read = readFits(frameToFits(image, camera, info));
    const found = read.ok ? rigOfFrame(read) : undefined;
    expect(found).toMatchObject({
      ok: true,
      started: {
        rig: {
          telescope: { apertureMm: 220, focalLengthMm: 2200, obstructionRatio: 0.36 },
          guideCamera: { pixelSizeUm: 3.75, binning: 2, exposureS: 3, gainEPerAdu: 0.8, readNoiseE: 2.5 },
        },
      },
    });
  });
  test('what is missing is asked for with the option that gives it', () => {
    const found = rigOfFrame(frameWith([{ keyword: 'FOCALLEN', value: 2350 }]));
    expect(found).toMatchObject({
      ok: false,
      missing: [{ option: '--aperture' }, { option: '--pixel', label: 'pixel of the guide camera' }],
    });
  });
  test('an f/10 ring of 22 px is 825 um from focus, not the 314 of an F/4 telescope', () => {
    const found = rigOfFrame(
      frameWith([
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
