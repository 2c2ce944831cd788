/**
 * Fast Fourier transforms of complex data of power-of-two length, in place: the only file that knows fft.js.
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
  /**
   * Replace `data` (2 * size * size numbers) by its forward transform.
   *
   * @param filledRows  rows from `filledRows` on hold only zeros and are not read (saves up to half the work)
   */
  forward(data: Float64Array, filledRows?: number): void;
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

/** Rows that are transformed together before they are written out as columns: a cache line of each is then used whole. */
const blockRows = 4;

/**
 * A plan for transforms of square images.
 *
 * @param size  side, a power of two from 2 to 8192
 * @throws RangeError for another size, or if data of another length is passed to the plan
 */
export function planFourier2d(size: number): FourierPlan2d {
  requireInteger('size', size, 2, 8192);
  const fft = createFft(size);
  const block = Math.min(blockRows, size);
  const turned = new Float64Array(2 * size * size);
  const input = new Float64Array(2 * size);
  const outputs = Array.from({ length: block }, () => new Float64Array(2 * size));

  /** Transform the rows of `from` and write them as the columns of `to`. */
  const transformAndTurn = (
    from: Float64Array,
    to: Float64Array,
    filledRows: number,
    inverse: boolean,
  ): void => {
    for (let row0 = 0; row0 < size; row0 += block) {
      for (let r = 0; r < block; r++) {
        const output = outputs[r];
        const row = row0 + r;
        if (row >= filledRows) {
          output.fill(0);
          continue;
        }
        const start = 2 * size * row;
        for (let k = 0; k < 2 * size; k++) input[k] = from[start + k];
        if (inverse) fft.inverseTransform(output, input);
        else fft.transform(output, input);
      }
      for (let column = 0; column < size; column++) {
        let k = 2 * (size * column + row0);
        for (let r = 0; r < block; r++) {
          const output = outputs[r];
          to[k++] = output[2 * column];
          to[k++] = output[2 * column + 1];
        }
      }
    }
  };
  return {
    size,
    forward(data, filledRows = size) {
      requireLength(data, 2 * size * size);
      transformAndTurn(data, turned, filledRows, false);
      transformAndTurn(turned, data, size, false);
    },
    inverse(data) {
      requireLength(data, 2 * size * size);
      transformAndTurn(data, turned, size, true);
      transformAndTurn(turned, data, size, true);
    },
  };
}

/** fft.js calls everything `any`; these are the two calls used. Input and output must be different arrays. */
interface Fft {
  table: number[];
  transform(out: Float64Array, data: Float64Array): void;
  inverseTransform(out: Float64Array, data: Float64Array): void;
}

function createFft(size: number): Fft {
  requireInteger('size', size, 2, 65536);
  if ((size & (size - 1)) !== 0) throw new RangeError(`size must be a power of two, got ${size}`);
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

function requireLength(data: Float64Array, length: number): void {
  if (data.length !== length) throw new RangeError(`data must have ${length} numbers, got ${data.length}`);
}
