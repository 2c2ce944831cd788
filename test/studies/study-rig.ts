/** A fast reflector for the studies of methods: 15 µm of focus shift widen its ring by a pixel. */
import { parseRig, type Rig } from '@holdfast/sim';

export const umPerRingPx = 15;

export const studyRig = (changes: Record<string, unknown> = {}): Rig =>
  parseRig({
    name: 'Study',
    telescope: { apertureMm: 200, focalLengthMm: 800, obstructionRatio: 0.35 },
    guideCamera: {
      pixelSizeUm: 3.75,
      exposureS: 2,
      readNoiseE: 1.5,
      gainEPerAdu: 1,
      bitDepth: 16,
      fullWellE: 60000,
    },
    mainCamera: { pixelSizeUm: 3.76 },
    sky: { seeingFwhmArcsec: 2.5 },
    guideStar: { magnitude: 13 },
    filters: [{ name: 'Luminance', focusShiftUm: 0 }],
    ...changes,
  });
