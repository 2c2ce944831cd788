/**
 * The part of a frame that one star is measured in: its window, the background around it, other stars taken
 * off.
 */
import { type Background, estimateBackground, type FoundStar } from '@holdfast/centroid';
import { type LightView, lightAt } from '@holdfast/centroid/internal';
import { createImage, type Image } from '@holdfast/psf';
import type { FrameRegion } from './frame-region.ts';

/** A frame read where it stands, less what bad columns, bad rows and trails add to its pixels. */
export interface ElectronFrame extends LightView {
  /** Electrons to take off, row by row; undefined where there are none. */
  readonly faults: Float32Array | undefined;
}

export interface StarWindow {
  /** Column and row of the frame where the stamp begins. */
  readonly left: number;
  readonly top: number;
  readonly stamp: Image;
  readonly valid: Uint8Array;
  /** The star in the stamp, px. */
  readonly x: number;
  readonly y: number;
  /** Radius that holds the star's light, px. */
  readonly radiusPx: number;
  /**
   * Level and noise of the ring of sky around the window; undefined when fewer than 30 of its pixels are
   * usable.
   */
  readonly background: Background | undefined;
}

/**
 * A circle that holds 90 % of a light is widened to hold all but its far wings: 4.6 rms widths of a Gaussian.
 */
export function windowRadius(star: FoundStar): number {
  return 0.6 * star.diameterPx + 2;
}

/** Radius within which a ring is fitted to a star: its light and enough sky to tell it from. */
export function fitRadius(star: FoundStar): number {
  return 1.25 * windowRadius(star) + 2;
}

/**
 * Outer radius of the background around a star: as much area as the window, and no fewer than 300 pixels.
 */
export function skyRadius(star: FoundStar): number {
  const inner = windowRadius(star) + 1;
  return Math.sqrt(inner * inner + Math.max(inner * inner, 300 / Math.PI));
}

const leastSkyPixels = 30;

/** The part of the frame that a star's window takes up. */
export function windowPart(frame: ElectronFrame, star: FoundStar): FrameRegion {
  const reach = skyRadius(star);
  const left = Math.max(0, Math.ceil(star.x - reach));
  const top = Math.max(0, Math.ceil(star.y - reach));
  return {
    left,
    top,
    width: Math.min(frame.width - 1, Math.floor(star.x + reach)) - left + 1,
    height: Math.min(frame.height - 1, Math.floor(star.y + reach)) - top + 1,
  };
}

/**
 * @param others  electrons of the other stars on the pixels of `windowPart`: taken off
 * @param besides stars whose light could not be taken off: their pixels do not count as sky
 */
export function cutWindow(
  frame: ElectronFrame,
  star: FoundStar,
  others: Float64Array | undefined,
  besides: readonly FoundStar[],
): StarWindow {
  const radiusPx = windowRadius(star);
  const reach = skyRadius(star);
  const { left, top, width, height } = windowPart(frame, star);
  const stamp = createImage(width, height);
  const valid = new Uint8Array(width * height);
  const sky = new Uint8Array(width * height);
  let skyPixels = 0;
  for (let y = 0, k = 0; y < height; y++)
    for (let x = 0; x < width; x++, k++) {
      const electrons = lightAt(frame, left + x, top + y);
      const off = (frame.faults?.[(top + y) * frame.width + left + x] ?? 0) + (others?.[k] ?? 0);
      valid[k] = Number.isFinite(electrons) ? 1 : 0;
      stamp.data[k] = valid[k] ? electrons - off : 0;
      const far = (left + x - star.x) ** 2 + (top + y - star.y) ** 2;
      if (!valid[k] || far <= (radiusPx + 1) ** 2 || far > reach * reach) continue;
      const taken = besides.some(
        (other) => (left + x - other.x) ** 2 + (top + y - other.y) ** 2 <= windowRadius(other) ** 2,
      );
      if (taken) continue;
      sky[k] = 1;
      skyPixels++;
    }
  const background = skyPixels < leastSkyPixels ? undefined : estimateBackground(stamp, { valid: sky });
  return {
    left,
    top,
    stamp,
    valid,
    x: star.x - left,
    y: star.y - top,
    radiusPx,
    background: background?.ok ? background : undefined,
  };
}
