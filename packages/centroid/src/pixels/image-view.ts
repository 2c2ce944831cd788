/**
 * How the pixels of an image lie in memory. Kernels read `data[offset + y * strideY + x * strideX]`, so that
 * strided and transposed views need no copy.
 */
import { requireImage } from '@holdfast/psf/numerics';
import type { Image, ImageSize } from './centroid.ts';

export interface ImageView {
  readonly data: Float64Array;
  readonly offset: number;
  readonly strideX: number;
  readonly strideY: number;
}

/** @throws TypeError when the image is not two-dimensional or its pixels are not plain numbers */
export function sizeOf(image: Image): ImageSize {
  return requireImage(image);
}

/** The pixels of an image, or of a row-major array, of the size expected. */
export function viewOf(image: Image | Float64Array, { width, height }: ImageSize): ImageView {
  if (image instanceof Float64Array) {
    if (image.length !== width * height)
      throw new RangeError(`image must have width * height = ${width * height} pixels, got ${image.length}`);
    return { data: image, offset: 0, strideX: 1, strideY: width };
  }
  const got = sizeOf(image);
  if (got.width !== width || got.height !== height)
    throw new RangeError(`image must be ${width} x ${height} px, got ${got.width} x ${got.height} px`);
  return {
    data: asDoubles(image.data),
    offset: image.offset,
    strideX: image.stride[1],
    strideY: image.stride[0],
  };
}

/** One kind of array for the hot loops; another is copied, once per image. */
function asDoubles(data: Float64Array | ArrayLike<number>): Float64Array {
  return data instanceof Float64Array ? data : Float64Array.from(data);
}
