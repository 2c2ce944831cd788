/** Whether the star of a rig fits into a stamp of a size that can be simulated. */
import { plateScaleArcsecPerPx } from '@holdfast/psf';
import { edgeStar } from '../pickoff/edge-star.ts';
import { geometricRadiusPx } from '../trials/scene-shape.ts';
import { farthestShiftUm, stampHalfPx } from '../trials/window.ts';
import type { RigFault } from './rig-fault.ts';
import type { Rig } from './rig-schema.ts';

/** Side of the largest stamp, px: far beyond any ring that a guide camera could use. */
const mostPx = 1024;

/** What makes the widest star of a rig's filters too wide. */
export function stampFaults(rig: Rig): RigFault[] {
  const { telescope, guideCamera, sky, tracking } = rig;
  const { focalLengthMm, obstructionRatio } = telescope;
  const { pixelSizeUm, binning } = guideCamera;
  const pixelUm = pixelSizeUm * binning;
  const arcsecPerPx = plateScaleArcsecPerPx({ pixelSizeUm: pixelUm, focalLengthMm });
  const shiftUm = farthestShiftUm(rig);
  const radiusPx = geometricRadiusPx(rig, {
    focusShiftUm: shiftUm,
    obstructionRatio,
    seeingFwhmArcsec: sky.seeingFwhmArcsec,
    arcsecPerPx,
    pixelUm,
    star: edgeStar(rig),
    starModel: rig.starModel,
  });
  const side = 2 * stampHalfPx(radiusPx, tracking.windowPx ?? 0) + 1;
  if (side <= mostPx) return [];
  const ring = Math.round(shiftUm / (telescope.focalLengthMm / telescope.apertureMm) / pixelUm);
  const air = Math.round(sky.seeingFwhmArcsec / arcsecPerPx);
  const { guideFocusShiftUm } = rig;
  const isDefocused = ring > air && 2 * Math.abs(guideFocusShiftUm) > shiftUm;
  return [
    {
      ...(isDefocused
        ? { field: 'guideFocusShiftUm', got: String(guideFocusShiftUm) }
        : { field: 'guideCamera.pixelSizeUm', got: String(pixelSizeUm) }),
      allowed:
        `${isDefocused ? 'so near to 0' : 'so large'} that the star fits into ${mostPx} px, where it now needs ${side} ` +
        `(ring of ${ring} px by the focus shift, ${air} px by the air, the rest by the edge of the field). ` +
        'Choose larger pixels or binning, or check focus shifts, focal length and design',
    },
  ];
}
