/**
 * Sums of products of a frame with a template at every place at once, by Fourier transform. It serves the
 * search for the best whole pixel, where a rounding error moves nothing; what is measured is summed directly.
 */
import { type FourierPlan2d, planFourier2d } from '@holdfast/psf/numerics';

/** A small picture by its pixels: offset from its center, and value. */
export interface SparseStamp {
  readonly dx: Int32Array;
  readonly dy: Int32Array;
  readonly value: Float64Array;
}

/** What the template meets at each place of the frame, row by row; pixels not in use count nothing. */
export interface CorrelationMaps {
  /** sum(value * frame) */
  readonly product: Float64Array;
  /** sum(value) */
  readonly template: Float64Array;
  /** sum(value^2) */
  readonly squares: Float64Array;
}

/** Smallest power of two that holds the frame and a stamp beside it, so that nothing wraps around. */
export function transformSize(width: number, height: number, stampSide: number): number {
  let size = 2;
  while (size < Math.max(width, height) + stampSide) size *= 2;
  return size;
}

/** Maps for frames of one size and stamps that reach `stampSide` px at most. One caller at a time. */
export class FastCorrelation {
  readonly maps: CorrelationMaps;
  readonly #width: number;
  readonly #height: number;
  readonly #size: number;
  readonly #fourier: FourierPlan2d;
  readonly #frame: Float64Array;
  readonly #used: Float64Array;
  readonly #work: Float64Array;
  readonly #stamps = new WeakMap<SparseStamp, { plain: Float64Array; squared: Float64Array }>();

  constructor(width: number, height: number, stampSide: number) {
    const size = transformSize(width, height, stampSide);
    this.#width = width;
    this.#height = height;
    this.#size = size;
    this.#fourier = planFourier2d(size);
    const cells = 2 * size * size;
    this.#frame = new Float64Array(cells);
    this.#used = new Float64Array(cells);
    this.#work = new Float64Array(cells);
    const map = () => new Float64Array(width * height);
    this.maps = { product: map(), template: map(), squares: map() };
  }

  /** Take a frame: its values count where `used` is 1. */
  load(values: Float64Array, used: Uint8Array): void {
    const size = this.#size;
    this.#frame.fill(0);
    this.#used.fill(0);
    for (let y = 0, k = 0; y < this.#height; y++)
      for (let x = 0; x < this.#width; x++, k++) {
        if (used[k] === 0) continue;
        const at = 2 * (y * size + x);
        // Frame and use ride together as real and imaginary part.
        this.#frame[at] = values[k];
        this.#frame[at + 1] = 1;
        this.#used[at] = 1;
      }
    this.#fourier.forward(this.#frame);
    this.#fourier.forward(this.#used);
  }

  /** Fill `maps` for a stamp. */
  correlate(stamp: SparseStamp): CorrelationMaps {
    const { plain, squared } = this.#transformsOf(stamp);
    const { product, template, squares } = this.maps;
    this.#timesConjugate(this.#frame, plain);
    this.#store(product, template);
    this.#timesConjugate(this.#used, squared);
    this.#store(squares, undefined);
    return this.maps;
  }

  #transformsOf(stamp: SparseStamp): { plain: Float64Array; squared: Float64Array } {
    let found = this.#stamps.get(stamp);
    if (found === undefined) {
      found = { plain: this.#stampTransform(stamp, 1), squared: this.#stampTransform(stamp, 2) };
      this.#stamps.set(stamp, found);
    }
    return found;
  }

  #stampTransform({ dx, dy, value }: SparseStamp, power: 1 | 2): Float64Array {
    const size = this.#size;
    const out = new Float64Array(2 * size * size);
    for (let k = 0; k < value.length; k++) {
      const x = (dx[k] + size) % size;
      const y = (dy[k] + size) % size;
      out[2 * (y * size + x)] = power === 1 ? value[k] : value[k] * value[k];
    }
    this.#fourier.forward(out);
    return out;
  }

  /** work = inverse transform of a conj(b): sum over the offset d of a(place + d) b(d). */
  #timesConjugate(a: Float64Array, b: Float64Array): void {
    const work = this.#work;
    for (let k = 0; k < a.length; k += 2) {
      work[k] = a[k] * b[k] + a[k + 1] * b[k + 1];
      work[k + 1] = a[k + 1] * b[k] - a[k] * b[k + 1];
    }
    this.#fourier.inverse(work);
  }

  #store(real: Float64Array, imaginary: Float64Array | undefined): void {
    const size = this.#size;
    for (let y = 0, k = 0; y < this.#height; y++)
      for (let x = 0; x < this.#width; x++, k++) {
        const at = 2 * (y * size + x);
        real[k] = this.#work[at];
        if (imaginary !== undefined) imaginary[k] = this.#work[at + 1];
      }
  }
}
