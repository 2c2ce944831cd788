/** An image as it must be before its pixels are read: two sides, strides, and numbers for every pixel. */
import { shown } from './require.ts';

/** Largest side of an image, px: above this the memory asked for is surely a mistake. */
export const maxImageSide = 32768;

interface Strided {
  readonly shape: readonly number[];
  readonly stride: readonly number[];
  readonly offset: number;
  readonly data: ArrayLike<number>;
}

/**
 * @returns the sides of the image
 * @throws TypeError or RangeError when it is no ndarray of shape [height, width], or some of its pixels do
 *   not exist
 */
export function requireImage(image: Strided): { width: number; height: number } {
  const shape = image?.shape;
  if (!Array.isArray(shape) || shape.length !== 2 || !isSide(shape[0]) || !isSide(shape[1]))
    throw new TypeError(
      `image must be an ndarray of shape [height, width], 1 to ${maxImageSide} px, got ${shown(shape)}`,
    );
  const { data, stride, offset } = image;
  const isNumbers =
    Array.isArray(data) || (ArrayBuffer.isView(data) && typeof (data as Float64Array)[0] !== 'bigint');
  if (!isNumbers)
    throw new TypeError(
      `image.data must be an array of numbers, got ${Object.prototype.toString.call(data)}`,
    );
  const [height, width] = shape as [number, number];
  const layout = [
    offset,
    ...(Array.isArray(stride) && stride.length === 2 ? (stride as number[]) : [Number.NaN]),
  ];
  if (!layout.every(Number.isInteger))
    throw new TypeError(`image.stride and image.offset must be whole numbers, got ${shown(layout)}`);
  const [first, perRow, perColumn] = layout;
  const toRow = perRow * (height - 1);
  const toColumn = perColumn * (width - 1);
  const lowest = first + Math.min(0, toRow) + Math.min(0, toColumn);
  const highest = first + Math.max(0, toRow) + Math.max(0, toColumn);
  if (lowest < 0 || highest >= data.length)
    throw new RangeError(
      `image.data must hold every pixel, ${lowest} to ${highest} by its strides, got ${data.length} values`,
    );
  return { width, height };
}

const isSide = (value: unknown): boolean =>
  Number.isInteger(value) && (value as number) >= 1 && (value as number) <= maxImageSide;
