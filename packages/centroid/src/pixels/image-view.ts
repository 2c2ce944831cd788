/**
 * How the pixels of an image lie in memory. Kernels read `data[offset + y * strideY + x * strideX]`, so that
 * strided and transposed views need no copy.
 */
import { requireImage, requireValid } from '@holdfast/psf/numerics';
import type { Image, ImageSize } from './centroid.ts';

/**
 * Pixels of this size, electrons, are as little usable as non-finite ones: their squares and sums must stay
 * finite.
 */
export const absurdE = 1e30;

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

/**
 * An image as light, read where it stands, in whatever numbers: a large frame is not copied for its unit.
 * Electrons of a pixel = (data - zero) * scale.
 */
export interface LightView extends ImageSize {
  readonly data: ArrayLike<number>;
  readonly offset: number;
  readonly strideX: number;
  readonly strideY: number;
  readonly zero: number;
  readonly scale: number;
  /** 1 = use the pixel, 0 = do not; row-major. */
  readonly valid: Uint8Array | undefined;
}

/**
 * @param zero   of the image's units: no light
 * @param scale  electrons per unit
 */
export function lightView(
  image: Image,
  valid: Uint8Array | undefined = undefined,
  zero = 0,
  scale = 1,
): LightView {
  const size = sizeOf(image);
  if (valid !== undefined) requireValid(valid, size.width, size.height);
  const { data, offset, stride } = image;
  return { ...size, data, offset, strideX: stride[1], strideY: stride[0], zero, scale, valid };
}

/** Electrons of a pixel; NaN where it may not be used. */
export function lightAt(view: LightView, x: number, y: number): number {
  const { data, offset, strideX, strideY, zero, scale, valid, width } = view;
  const light = (data[offset + y * strideY + x * strideX] - zero) * scale;
  return Math.abs(light) < absurdE && (valid === undefined || valid[y * width + x] === 1) ? light : NaN;
}

/** One kind of array for the hot loops; another is copied, once per image. */
function asDoubles(data: Float64Array | ArrayLike<number>): Float64Array {
  return data instanceof Float64Array ? data : Float64Array.from(data);
}
