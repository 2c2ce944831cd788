/**
 * The image that passes between all parts: a row-major `NdArray<Float64Array>` of shape `[height, width]` in
 * electrons. This is the only file of the package that looks at strides; every kernel works on the plain
 * `Float64Array`.
 */
import ndarray, { type NdArray } from 'ndarray';
import { requireInteger, shown } from '../numerics/require.ts';
import { maxImageSide, requireImage } from '../numerics/require-image.ts';

/** Row-major pixels of shape [height, width], electrons. */
export type Image = NdArray<Float64Array>;

export { maxImageSide };

/** A new image of zeros, or one that wraps `data` (row-major, length width * height). */
export function createImage(width: number, height: number, data?: Float64Array): Image {
  requireInteger('width', width, 1, maxImageSide);
  requireInteger('height', height, 1, maxImageSide);
  if (data !== undefined && !(data instanceof Float64Array))
    throw new TypeError(`data must be a Float64Array, got ${shown(data)}`);
  if (data !== undefined && data.length !== width * height)
    throw new RangeError(`data must have width * height = ${width * height} values, got ${data.length}`);
  return ndarray(data ?? new Float64Array(width * height), [height, width]);
}

/** Width of an image, px. Throws a TypeError when it is not two-dimensional. */
export function imageWidth(image: Image): number {
  return sides(image)[1];
}

/** Height of an image, px. Throws a TypeError when it is not two-dimensional. */
export function imageHeight(image: Image): number {
  return sides(image)[0];
}

function sides(image: Image): [number, number] {
  const { width, height } = requireImage(image);
  return [height, width];
}

/** True when the pixels stand row by row without gaps from the start of `image.data`. */
export function isContiguous(image: Image): boolean {
  const [height, width] = sides(image);
  return (
    image.offset === 0 &&
    image.stride[0] === width &&
    image.stride[1] === 1 &&
    image.data.length === width * height &&
    image.data instanceof Float64Array
  );
}

/**
 * Row-major pixels of an image: its own data where they stand so already (do not write to it), else a copy.
 */
export function imagePixels(image: Image): Float64Array {
  if (isContiguous(image)) return image.data;
  const [height, width] = sides(image);
  const out = new Float64Array(width * height);
  for (let y = 0, k = 0; y < height; y++) for (let x = 0; x < width; x++, k++) out[k] = image.get(y, x);
  return out;
}

/** Write row-major pixels into an image of any stride. */
export function storePixels(image: Image, pixels: Float64Array): void {
  const [height, width] = sides(image);
  if (pixels.length !== width * height)
    throw new RangeError(`pixels must have ${width * height} values, got ${pixels.length}`);
  if (isContiguous(image)) image.data.set(pixels);
  else
    for (let y = 0, k = 0; y < height; y++) for (let x = 0; x < width; x++, k++) image.set(y, x, pixels[k]);
}
