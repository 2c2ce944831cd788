/** A plain rig for tests: bright enough to be measured, small enough to be fast. */
import { parseRig, type Rig } from '@holdfast/sim';

export function smallRig(changes: Record<string, unknown> = {}): Rig {
  return parseRig({
    name: 'Test rig',
    telescope: { apertureMm: 150, focalLengthMm: 750, obstructionRatio: 0.3 },
    guideCamera: { pixelSizeUm: 4, exposureS: 2, readNoiseE: 2 },
    mainCamera: { pixelSizeUm: 4 },
    sky: { seeingFwhmArcsec: 2.5 },
    guideStar: { magnitude: 11 },
    filters: [{ name: 'Luminance', focusShiftUm: 0 }],
    ...changes,
  });
}
