/**
 * A filter told by the ring that one sees with it: the px that were typed stay, whatever else of the rig
 * changes.
 */
import { isGroup, type RigText, valueAt } from './rig-text.ts';

/** In the form, and nowhere else, a filter may have this in place of its shift. */
export interface SeenRing {
  /** Outer diameter, px. */
  readonly px: unknown;
  readonly side: 'beyond' | 'ahead';
}

export function seenRing(filter: RigText): SeenRing | undefined {
  const { ring } = filter;
  return isGroup(ring) ? { px: ring['px'], side: ring['side'] === 'ahead' ? 'ahead' : 'beyond' } : undefined;
}

/** The ring that a shift in um makes. */
export function ringOfShift(shiftUm: unknown, text: RigText): SeenRing {
  const total = Number(shiftUm) + guideShift(text);
  const px = Number((Math.abs(total) / umPerPx(text)).toPrecision(3));
  return { px: Number.isFinite(px) ? px : undefined, side: total < 0 ? 'ahead' : 'beyond' };
}

/** The filter as a rig file says it. */
export function withoutRing(filter: RigText, text: RigText): RigText {
  const ring = seenRing(filter);
  if (ring === undefined) return filter;
  const { ring: _, ...others } = filter;
  const um = (ring.side === 'ahead' ? -1 : 1) * Number(ring.px) * umPerPx(text) - guideShift(text);
  // What is no number is told at its field as it was written.
  const isKnown = typeof ring.px === 'number' && Number.isFinite(um);
  return { ...others, focusShiftUm: isKnown ? Number(um.toPrecision(6)) : ring.px };
}

/** Defocus of the guide camera for a pixel of ring diameter, um; NaN while the rig is incomplete. */
function umPerPx(text: RigText): number {
  const number = (path: string, otherwise?: number) => Number(valueAt(text, path) ?? otherwise);
  return (
    (number('guideCamera.pixelSizeUm') *
      number('guideCamera.binning', 1) *
      number('telescope.focalLengthMm')) /
    number('telescope.apertureMm')
  );
}

const guideShift = (text: RigText): number => Number(text['guideFocusShiftUm'] ?? 0);
