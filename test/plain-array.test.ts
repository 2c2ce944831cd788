/** The `ndarray` package and what stands in for it in the page: one contract, run on both. */
import ndarray, { type NdArray } from 'ndarray';
import { describe, expect, test } from 'vitest';
import plainArray from '../examples/notebook/plain-array.ts';

type Make = typeof ndarray<Float64Array>;

/** All that a view says of itself, and its values in the order of its axes. */
function told(view: NdArray<Float64Array>) {
  const values: number[] = [];
  const [height, width] = view.shape;
  for (let y = 0; y < height; y++)
    if (view.dimension === 1) values.push(view.get(y));
    else for (let x = 0; x < width; x++) values.push(view.get(y, x));
  const { shape, stride, offset, dimension, size, dtype, order } = view;
  return { shape, stride, offset, dimension, size, dtype, order, values };
}

const filled = (make: Make): NdArray<Float64Array> =>
  make(
    Float64Array.from({ length: 5 * 7 }, (_, k) => k * k - 3),
    [5, 7],
  );

/** Views that the packages, the examples and their callers may make. */
const views: Record<string, (image: NdArray<Float64Array>, make: Make) => NdArray<Float64Array>> = {
  'an image': (image) => image,
  'from a place on': (image) => image.lo(1, 2),
  'from a place on, along one axis': (image) => image.lo(2),
  'from a place on, along the other': (image) => image.lo(null as never, 3),
  'the first rows and columns': (image) => image.hi(3, 4),
  'the first columns': (image) => image.hi(null as never, 2),
  'a window': (image) => image.lo(1, 2).hi(3, 4),
  'every other pixel': (image) => image.step(2, 3),
  'upside down': (image) => image.step(-1, 1),
  'backwards by two': (image) => image.step(-2, -2),
  'rows and columns exchanged': (image) => image.transpose(1, 0),
  'a window of that': (image) => image.transpose(1, 0).lo(2, 1).hi(2, 3),
  'one row': (image) => image.pick(2, null as never),
  'one column': (image) => image.pick(null as never, 4),
  'nothing left': (image) => image.hi(0, 0),
  'a part of a larger array, by stride and offset': (image, make) => make(image.data, [2, 3], [14, 2], 5),
  'backwards, by stride': (image, make) => make(image.data, [5, 7], [-7, 1]),
  'one axis by default': (image, make) => make(image.data),
};

describe.each(Object.keys(views))('%s', (name) => {
  const of = (make: Make) => views[name](filled(make), make);

  test('is the same view of the same values', () => {
    expect(told(of(plainArray as unknown as Make))).toEqual(told(of(ndarray)));
  });

  test('writes to the same place, without a copy', () => {
    const written = [ndarray, plainArray as unknown as Make].map((make) => {
      const view = of(make);
      const returned = view.dimension === 1 ? view.set(1, 77) : view.set(1, 1, 77);
      return { returned, data: view.data };
    });
    expect(written[1]).toEqual(written[0]);
  });
});
