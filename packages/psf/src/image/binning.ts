/**
 * Binning: squares of pixels become one pixel whose electrons are the sum of theirs.
 *
 * Before the read their charges are added and read once, as CCDs do it: one read noise, one rounding, one
 * output range for all. After the read each pixel is read for itself and the numbers are added, as with
 * nearly every CMOS camera: factor^2 read noises and roundings, and factor^2 times the output range.
 */

import { requireNames } from '../numerics/options.ts';
import { requireInteger, requireOneOf } from '../numerics/require.ts';
import { createImage, type Image, imageHeight, imagePixels, imageWidth } from './image.ts';

/** Pixels that are summed into one. */
export interface Binning {
  /** Pixels along each side of the square, from 1 to 16. */
  readonly factor: number;
  /** 'before-read': one read noise per summed pixel; 'after-read': one per pixel of the sensor. */
  readonly when: 'before-read' | 'after-read';
}

const largestFactor = 16;

export function checkBinning(binning: Binning): void {
  const { factor, when } = requireNames('camera.binning', binning, 'factor when');
  requireInteger('camera.binning.factor', factor, 1, largestFactor);
  requireOneOf('camera.binning.when', when, ['before-read', 'after-read']);
}

/** Reads that make up one pixel of the frame. */
export const readsPerPixel = ({ factor, when }: Binning): number =>
  when === 'after-read' ? factor * factor : 1;

/** A whole number of squares along one side. */
export function requireSquares(name: string, value: number, factor: number): void {
  if (value % factor !== 0)
    throw new RangeError(`${name} must be a multiple of the binning factor ${factor}, got ${value}`);
}

/**
 * Overwrite `out` with the sums over squares of `pixels`, which are `width` to a row. `out` may be `pixels`
 * itself.
 */
export function binInto(out: Float64Array, pixels: Float64Array, width: number, factor: number): void {
  const columns = width / factor;
  const rows = pixels.length / width / factor;
  // In place this is safe: a sum is written at or before the first pixel that it was made of.
  for (let y = 0, k = 0; y < rows; y++)
    for (let x = 0; x < columns; x++, k++) {
      let sum = 0;
      for (let j = 0; j < factor; j++) {
        const first = (y * factor + j) * width + x * factor;
        for (let i = 0; i < factor; i++) sum += pixels[first + i];
      }
      out[k] = sum;
    }
}

/**
 * A frame binned after the read: each pixel of the result is the sum over a square of factor * factor pixels.
 * Pixel (x, y) of the result is centered on (factor x + (factor - 1) / 2, factor y + (factor - 1) / 2) of the
 * frame.
 *
 * ```ts
 * binFrame(createImage(4, 2, Float64Array.of(1, 2, 3, 4, 10, 20, 30, 40)), 2).data // 33, 77
 * ```
 * @param frame   any image; not modified. Its sides must be multiples of the factor
 * @param factor  pixels along each side of the square, from 1 to 16
 * @returns a new image
 * @throws RangeError naming what is out of range
 */
export function binFrame(frame: Image, factor: number): Image {
  requireInteger('factor', factor, 1, largestFactor);
  const width = imageWidth(frame);
  const height = imageHeight(frame);
  requireSquares('width of the frame', width, factor);
  requireSquares('height of the frame', height, factor);
  const out = new Float64Array((width / factor) * (height / factor));
  binInto(out, imagePixels(frame), width, factor);
  return createImage(width / factor, height / factor, out);
}
