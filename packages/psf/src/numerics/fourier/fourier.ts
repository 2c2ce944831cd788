/**
 * Fast Fourier transforms of complex squares, in place: rows by fft.js (this is the only file that knows it),
 * columns by radix-passes.ts, which takes four at once.
 *
 * Complex values stand interleaved in a `Float64Array`: real part, imaginary part, next value.
 *
 *   forward, along each axis:  X[k] = sum over j of x[j] exp(-2 pi i j k / n)
 *   inverse, along each axis:  x[j] = (1/n) sum over k of X[k] exp(+2 pi i j k / n)
 *
 * A plan holds its scratch and allocates no numbers per call: one plan serves one caller at a time.
 */
import FFT from 'fft.js';
import { writePhasor } from '../angle.ts';
import { requireInteger } from '../require.ts';
import { planRadixPasses } from './radix-passes.ts';

/** Transforms of `size` by `size` complex values, row by row. */
export interface FourierPlan2d {
  readonly size: number;
  /** Replace `data` (2 * size * size numbers) by its forward transform. */
  forward(data: Float64Array): void;
  /** Replace `data` by its inverse transform, divided by size * size. */
  inverse(data: Float64Array): void;
}

/** Columns transformed together: a cache line of each row is then used whole. */
const together = 4;

/**
 * A plan for transforms of square images.
 *
 * @param size  side, a power of two from 4 to 8192
 * @throws RangeError for another size, or if data of another length is passed to the plan
 */
export function planFourier2d(size: number): FourierPlan2d {
  requireInteger('size', size, 4, 8192);
  if ((size & (size - 1)) !== 0) throw new RangeError(`size must be a power of two, got ${size}`);
  const rows = createFft(size);
  const columns = planRadixPasses(size, together);
  const row = new Float64Array(2 * size);

  const transform = (data: Float64Array, inverse: boolean): void => {
    const length = 2 * size * size;
    if (data.length !== length) throw new RangeError(`data must have ${length} numbers, got ${data.length}`);
    for (let start = 0; start < length; start += 2 * size) {
      const line = data.subarray(start, start + 2 * size);
      row.set(line);
      if (inverse) rows.inverseTransform(line, row);
      else rows.transform(line, row);
    }
    // The inverse is the forward transform in reverse order, over `size`.
    const scale = inverse ? 1 / size : 1;
    for (let x = 0; x < size; x += together) {
      const result = columns.run(data, 2 * x, 2 * size, false);
      for (let k = 0, from = 0; k < size; k++) {
        const to = 2 * x + 2 * size * (inverse && k > 0 ? size - k : k);
        for (let i = 0; i < 2 * together; i++) data[to + i] = scale * result[from++];
      }
    }
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
