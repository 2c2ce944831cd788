/**
 * Fast Fourier transforms of complex data of power-of-two length, in place. One line is transformed by fft.js
 * (this is the only file that knows it), a square by radix-passes.ts, which works on four columns at once.
 *
 * Complex values stand interleaved in a `Float64Array`: real part, imaginary part, next value.
 *
 *   forward:  X[k] = sum over j of x[j] exp(-2 pi i j k / n)
 *   inverse:  x[j] = (1/n) sum over k of X[k] exp(+2 pi i j k / n)          (1 / n^2 in two dimensions)
 *
 * A plan holds its scratch and allocates nothing per call: one plan serves one caller at a time.
 */
import FFT from 'fft.js';
import { writePhasor } from '../angle.ts';
import { requireInteger } from '../require.ts';
import { planRadixPasses, type RadixPasses } from './radix-passes.ts';

/** Transforms of `size` complex values. */
export interface FourierPlan1d {
  readonly size: number;
  /** Replace `data` (2 * size numbers) by its forward transform. */
  forward(data: Float64Array): void;
  /** Replace `data` by its inverse transform, divided by `size`. */
  inverse(data: Float64Array): void;
}

/** Transforms of `size` by `size` complex values, row by row. */
export interface FourierPlan2d {
  readonly size: number;
  /** Replace `data` (2 * size * size numbers) by its forward transform. */
  forward(data: Float64Array): void;
  /** Replace `data` by its inverse transform, divided by size * size. */
  inverse(data: Float64Array): void;
}

/**
 * A plan for transforms along one line.
 *
 * ```ts
 * const plan = planFourier(8)
 * const data = new Float64Array(16).fill(1) // eight times 1 + i
 * plan.forward(data) // 8 + 8i, then zeros
 * ```
 * @param size  a power of two from 2 to 65536
 * @throws RangeError for another size, or if data of another length is passed to the plan
 */
export function planFourier(size: number): FourierPlan1d {
  const fft = createFft(size);
  const input = new Float64Array(2 * size);
  const run = (data: Float64Array, inverse: boolean): void => {
    requireLength(data, 2 * size);
    input.set(data);
    if (inverse) fft.inverseTransform(data, input);
    else fft.transform(data, input);
  };
  return {
    size,
    forward: (data) => run(data, false),
    inverse: (data) => run(data, true),
  };
}

/** Columns transformed together: a cache line of each row is then used whole. */
const together = 4;

/**
 * A plan for transforms of square images.
 *
 * @param size  side, a power of two from 2 to 8192
 * @throws RangeError for another size, or if data of another length is passed to the plan
 */
export function planFourier2d(size: number): FourierPlan2d {
  requireSize(size, 8192);
  const block = Math.min(together, size);
  const rows = planRadixPasses(size, 1);
  const columns = planRadixPasses(size, block);

  /**
   * Transform lines that stand side by side, value k of line b at `start` + `step` k + 2 b, in place. The
   * inverse is the forward transform in reverse order, over `size`.
   */
  const transformLines = (
    passes: RadixPasses,
    lines: number,
    data: Float64Array,
    start: number,
    step: number,
    inverse: boolean,
  ): void => {
    const result = passes.run(data, start, step, false);
    const scale = inverse ? 1 / size : 1;
    for (let k = 0, from = 0; k < size; k++) {
      const to = start + step * (inverse && k > 0 ? size - k : k);
      for (let i = 0; i < 2 * lines; i++) data[to + i] = scale * result[from++];
    }
  };
  const transform = (data: Float64Array, inverse: boolean): void => {
    requireLength(data, 2 * size * size);
    for (let y = 0; y < size; y++) transformLines(rows, 1, data, 2 * size * y, 2, inverse);
    for (let x = 0; x < size; x += block) transformLines(columns, block, data, 2 * x, 2 * size, inverse);
  };
  return {
    size,
    forward: (data) => transform(data, false),
    inverse: (data) => transform(data, true),
  };
}

/** fft.js calls everything `any`; these are the two calls used. Input and output must be different arrays. */
interface Fft {
  table: number[];
  transform(out: Float64Array, data: Float64Array): void;
  inverseTransform(out: Float64Array, data: Float64Array): void;
}

function createFft(size: number): Fft {
  requireSize(size, 65536);
  const fft = new FFT(size) as unknown as Fft;
  // Its own table comes from Math.cos and Math.sin, whose last bits differ between engines.
  const phasor = new Float64Array(2);
  for (let k = 0; k < size; k++) {
    writePhasor(phasor, 0, -k / size);
    fft.table[2 * k] = phasor[0];
    fft.table[2 * k + 1] = phasor[1];
  }
  return fft;
}

function requireSize(size: number, most: number): void {
  requireInteger('size', size, 2, most);
  if ((size & (size - 1)) !== 0) throw new RangeError(`size must be a power of two, got ${size}`);
}

function requireLength(data: Float64Array, length: number): void {
  if (data.length !== length) throw new RangeError(`data must have ${length} numbers, got ${data.length}`);
}
