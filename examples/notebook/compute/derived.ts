/** What follows from a rig alone. */
import type { Rig } from '@holdfast/sim';

export const fNumberOf = ({ telescope }: Rig): number => telescope.focalLengthMm / telescope.apertureMm;

/** Side of a pixel of the guide camera as binned, um. */
export const pixelUmOf = ({ guideCamera }: Rig): number => guideCamera.pixelSizeUm * guideCamera.binning;

/**
 * The rig as far as a star at a given focus shift depends on it: where the rig says its window, the defocus
 * of the guide camera changes nothing, and two questions are one.
 */
export const rigOfStar = (rig: Rig): Rig =>
  rig.tracking.windowPx === undefined ? rig : { ...rig, guideFocusShiftUm: 0 };

/** Focus shift per pixel of ring diameter, um. */
export const umPerRingPx = (rig: Rig): number => pixelUmOf(rig) * fNumberOf(rig);

/** The focus shift that makes a ring of so many px. */
export const shiftOfRing = (rig: Rig, diameterPx: number): number => diameterPx * umPerRingPx(rig);
