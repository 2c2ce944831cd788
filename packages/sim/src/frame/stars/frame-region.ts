/** A part of a frame, and what of a mask belongs to it. */
import type { Image } from '@holdfast/psf';
import { imageHeight, imageWidth } from '@holdfast/psf/internal';
import { requireValid } from '@holdfast/psf/numerics';

/** A part of a frame, whole px. */
export interface FrameRegion {
  /** First column, px, >= 0. */
  readonly left: number;
  /** First row, px, >= 0. */
  readonly top: number;
  /** Columns, px, >= 1. */
  readonly width: number;
  /** Rows, px, >= 1. */
  readonly height: number;
}

/** @throws RangeError unless whole pixels within the frame */
export function requireRegion(region: FrameRegion, width: number, height: number): FrameRegion {
  const { left, top } = region;
  const whole = [left, top, region.width, region.height].every(Number.isInteger);
  const within = left >= 0 && top >= 0 && left + region.width <= width && top + region.height <= height;
  if (!whole || !within || region.width < 1 || region.height < 1)
    throw new RangeError(
      `region must be whole pixels within ${width} x ${height}, got ${JSON.stringify(region)}`,
    );
  return region;
}

export function partOf(
  valid: Uint8Array,
  image: Image,
  { left, top, width, height }: FrameRegion,
): Uint8Array {
  const stride = imageWidth(image);
  requireValid(valid, stride, imageHeight(image));
  const out = new Uint8Array(width * height);
  for (let y = 0; y < height; y++)
    out.set(valid.subarray((top + y) * stride + left, (top + y) * stride + left + width), y * width);
  return out;
}
