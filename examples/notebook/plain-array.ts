/**
 * Stands in for the `ndarray` package in the page: that one compiles its classes from text, which the page's policy forbids.
 * Row-major views of two axes, with what the library uses of them.
 */
export default function plainArray(
  data: Float64Array,
  shape: number[],
  stride: number[] = [shape[1], 1],
  offset = 0,
): PlainArray {
  return new PlainArray(data, shape, stride, offset);
}

class PlainArray {
  readonly data: Float64Array;
  readonly shape: number[];
  readonly stride: number[];
  readonly offset: number;
  readonly dtype = 'float64';
  readonly dimension = 2;

  constructor(data: Float64Array, shape: number[], stride: number[], offset: number) {
    this.data = data;
    this.shape = shape;
    this.stride = stride;
    this.offset = offset;
  }

  get size(): number {
    return this.shape[0] * this.shape[1];
  }

  index(row: number, column: number): number {
    return this.offset + row * this.stride[0] + column * this.stride[1];
  }

  get(row: number, column: number): number {
    return this.data[this.index(row, column)];
  }

  set(row: number, column: number, value: number): number {
    this.data[this.index(row, column)] = value;
    return value;
  }
}
