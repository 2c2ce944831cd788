/**
 * Stands in for the `ndarray` package in the page: that one compiles its classes from text, which the page's
 * policy forbids. It does what the package does; test/plain-array.test.ts runs the same checks on both.
 */
type Store = Float64Array | number[];

/**
 * @param shape default: one axis along the data; `stride` by default row by row, `offset` by default that of
 *   the first value
 */
export default function plainArray(
  data: Store,
  shape: number[] = [data.length],
  stride: number[] = rowMajor(shape),
  offset: number = firstOffset(shape, stride),
): PlainArray {
  return new PlainArray(data, shape, stride, offset);
}

function rowMajor(shape: readonly number[]): number[] {
  const stride: number[] = [];
  for (let axis = shape.length - 1, step = 1; axis >= 0; axis--) {
    stride[axis] = step;
    step *= shape[axis];
  }
  return stride;
}

/** Axes that run backwards start at their far end. */
const firstOffset = (shape: readonly number[], stride: readonly number[]): number =>
  stride.reduce((sum, step, axis) => (step < 0 ? sum - (shape[axis] - 1) * step : sum), 0);

class PlainArray {
  readonly data: Store;
  readonly shape: number[];
  readonly stride: number[];
  readonly offset: number;

  constructor(data: Store, shape: number[], stride: number[], offset: number) {
    this.data = data;
    this.shape = shape;
    this.stride = stride;
    this.offset = offset;
  }

  get dtype(): string {
    return this.data instanceof Float64Array ? 'float64' : 'array';
  }

  get dimension(): number {
    return this.shape.length;
  }

  get size(): number {
    return this.shape.reduce((product, length) => product * length, 1);
  }

  /** Axes from the one whose neighbors lie nearest in memory on. */
  get order(): number[] {
    const step = (axis: number): number => Math.abs(this.stride[axis]);
    return this.shape.map((_, axis) => axis).sort((a, b) => step(a) - step(b) || b - a);
  }

  index(...at: number[]): number {
    let k = this.offset;
    for (let axis = 0; axis < at.length; axis++) k += at[axis] * this.stride[axis];
    return k;
  }

  get(...at: number[]): number {
    return this.data[this.index(...at)];
  }

  set(...atAndValue: number[]): number {
    const value = atAndValue[atAndValue.length - 1];
    this.data[this.index(...atAndValue.slice(0, -1))] = value;
    return value;
  }

  /** From a place on. */
  lo(...from: (number | null)[]): PlainArray {
    const skipped = this.shape.map((_, axis) => Math.max(0, Math.trunc(from[axis] ?? 0)));
    return new PlainArray(
      this.data,
      this.shape.map((length, axis) => length - skipped[axis]),
      [...this.stride],
      this.index(...skipped),
    );
  }

  /** The first so many along each axis. */
  hi(...lengths: (number | null)[]): PlainArray {
    const shape = this.shape.map((length, axis) => {
      const wanted = lengths[axis];
      return typeof wanted === 'number' && wanted >= 0 ? Math.trunc(wanted) : length;
    });
    return new PlainArray(this.data, shape, [...this.stride], this.offset);
  }

  /** Every so many-th along each axis; backwards where negative. */
  step(...steps: (number | null)[]): PlainArray {
    const by = this.shape.map((_, axis) => Math.trunc(steps[axis] ?? 1));
    return new PlainArray(
      this.data,
      this.shape.map((length, axis) => Math.ceil(length / Math.abs(by[axis]))),
      this.stride.map((stride, axis) => stride * by[axis]),
      this.index(...this.shape.map((length, axis) => (by[axis] < 0 ? length - 1 : 0))),
    );
  }

  /** The axes in another order. */
  transpose(...axes: number[]): PlainArray {
    const from = this.shape.map((_, axis) => axes[axis] ?? axis);
    return new PlainArray(
      this.data,
      from.map((axis) => this.shape[axis]),
      from.map((axis) => this.stride[axis]),
      this.offset,
    );
  }

  /** One place along each axis that is given; the other axes stay. */
  pick(...at: (number | null)[]): PlainArray {
    const isFixed = (axis: number): boolean => (at[axis] ?? -1) >= 0;
    return new PlainArray(
      this.data,
      this.shape.filter((_, axis) => !isFixed(axis)),
      this.stride.filter((_, axis) => !isFixed(axis)),
      this.index(...this.shape.map((_, axis) => (isFixed(axis) ? (at[axis] as number) : 0))),
    );
  }
}
