/** The square of the frame that is measured: set once for all filters, as one does at night. */

import type { StarShape } from '@holdfast/psf';
import type { Rig } from '../rig/rig-schema.ts';
import { thermalDrift } from '../rig/temperature.ts';
import { type OwnStar, ownSceneShape } from './own-star.ts';
import { type BeamSetting, geometricRadiusPx } from './scene-shape.ts';

/**
 * No window by default is narrower, px: it leaves room to find the star again (common practice, no source).
 */
const leastWindowPx = 21;

/** Side of a window that holds a star of this radius wherever it lies in its pixel, px. */
export function windowFor(radiusPx: number): number {
  return 2 * Math.ceil(radiusPx + 0.5) + 1;
}

/**
 * Side of the window, px of the binned sensor: as the rig says, or matched to the largest ring that its
 * filters and the drift of its focus give (or to your own star there), and never below 21 px.
 */
export function windowOf(
  rig: Rig,
  beam: BeamSetting,
  binning: number,
  ownStar: StarShape | OwnStar | undefined,
): number {
  const { windowPx } = rig.tracking;
  // The same piece of sky on coarser pixels.
  if (windowPx !== undefined) return Math.max(5, Math.round((windowPx * rig.guideCamera.binning) / binning));
  const farthest = { ...beam, focusShiftUm: farthestShiftUm(rig) };
  const radiusPx =
    ownStar === undefined ? geometricRadiusPx(rig, farthest) : ownSceneShape(ownStar, farthest).radiusPx;
  return Math.max(leastWindowPx, windowFor(radiusPx));
}

/** Largest distance from focus that filters and the drift of the focus give, um. */
export function farthestShiftUm(rig: Rig): number {
  const { lowUm, highUm } = thermalDrift(rig) ?? { lowUm: 0, highUm: 0 };
  return Math.max(
    ...rig.filters.flatMap(({ focusShiftUm }) =>
      [lowUm, highUm].map((drift) => Math.abs(focusShiftUm + rig.guideFocusShiftUm + drift)),
    ),
  );
}

/** Pixels beyond the star's own radius in which the background is measured. */
const backgroundMarginPx = 4;

/** Room for the star's place in its pixel and for a window that begins off it, px on either side. */
const windowMarginPx = 3;

/** Pixels on either side of the middle one of a stamp that holds star and window. */
export function stampHalfPx(radiusPx: number, windowPx: number): number {
  return Math.ceil(Math.max(radiusPx + backgroundMarginPx, windowPx / 2 + windowMarginPx));
}
