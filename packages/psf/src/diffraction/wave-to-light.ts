/**
 * From the wave in the pupil to the light in the image, |transform|^2, and from that to the image's Fourier
 * coefficients.
 *
 * Both are transforms of n by n values, of which much need not be done: the wave mostly fills a quarter of
 * its square, so that half of its columns and half of each line are zero; light is real, so that two lines of
 * it go into one complex transform and half of the coefficients say it all. Behind a wave that is the same
 * above and below, so is the light: row k is row n - k.
 */
import { planRadixPasses, type RadixPasses } from '../numerics/fourier/radix-passes.ts';

/** Transforms on a square of n by n. It holds its own scratch: one serves one caller at a time. */
export interface WaveToLight {
  readonly size: number;
  /** The wave, row by row, `stride` complex values per row; what it does not fill must be zero. */
  readonly wave: Float64Array;
  readonly stride: number;
  /** The light, n * n, row by row, frequency 0 first; of an even wave only rows 0 to n / 2 count. */
  readonly light: Float64Array;
  /** How many rows of `light` count. */
  readonly lightRows: number;
  /**
   * Add weight * |forward transform of the wave|^2 to `light`.
   *
   * @param count  side of the square of `wave` that is filled, at most n / 2, or n where the plan is wide
   */
  addLight(count: number, weight: number): void;
  /**
   * Write the forward transform of `light` to `out`: coefficients for kx from -last to 0, in each ky from
   * -last to last, interleaved complex. The others are their conjugates: c(-kx, -ky) = conj c(kx, ky).
   *
   * @param last  below n / 2
   */
  transformLight(out: Float64Array, last: number): void;
}

/**
 * Columns transformed together: whole cache lines of each row are read and written. The copies below are
 * written out for 4.
 */
const together = 4;

/**
 * Complex values more in each line of scratch: rows a power of two apart would fight for the same places of
 * the cache.
 */
const padding = 4;

let kept: WeakRef<Float64Array> | undefined;

/** By size: each result is read before the next is asked for, so that all may share them. */
const passes = new Map<number, { columns: RadixPasses; rows: RadixPasses }>();

function passesOf(size: number): { columns: RadixPasses; rows: RadixPasses } {
  let known = passes.get(size);
  if (known === undefined) {
    known = { columns: planRadixPasses(size, together), rows: planRadixPasses(size, 1) };
    passes.set(size, known);
  }
  return known;
}

/**
 * Transforms on the array of the last call if it is long enough and memory was not needed elsewhere: a new
 * one takes a tenth of the time of an image. For use until the caller returns; wave and light hold what the
 * last one left.
 */
export function borrowWaveToLight(size: number, isWide: boolean, isEven: boolean): WaveToLight {
  let scratch = kept?.deref();
  if (!(scratch && scratch.length >= scratchLength(size, isWide))) {
    scratch = new Float64Array(scratchLength(size, isWide));
    kept = new WeakRef(scratch);
  }
  return planWaveToLight(size, isWide, isEven, scratch);
}

/** Wave, scratch between columns and rows, light. */
const scratchLength = (size: number, isWide: boolean): number => {
  const span = isWide ? size : size / 2;
  return 2 * (span + padding) * (span + size) + size * size;
};

/**
 * @param size    as `transformLength` gives it, at least 8
 * @param isWide whether the wave may fill more than half of a side: right for waves of the light as far as
 *   `size` less `count`
 * @param isEven whether rows k and count - 1 - k of the wave are the same
 */
export function planWaveToLight(
  size: number,
  isWide = false,
  isEven = false,
  scratch: Float64Array = new Float64Array(scratchLength(size, isWide)),
): WaveToLight {
  const n = size;
  const span = isWide ? n : n / 2;
  const { columns, rows } = passesOf(n);
  const stride = span + padding;
  const wave = scratch.subarray(0, 2 * stride * span);
  const work = scratch.subarray(wave.length, wave.length + 2 * stride * n);
  const light = scratch.subarray(wave.length + work.length, wave.length + work.length + n * n);
  const pair = new Float64Array(2 * n);
  const lightRows = isEven ? n / 2 + 1 : n;

  return {
    size,
    wave,
    stride,
    light,
    lightRows,
    addLight(count, weight) {
      for (let column = 0; column < count; column += together) {
        const result = columns.run(wave, 2 * column, 2 * stride, !isWide);
        for (let at = 0, to = 2 * column; at < 8 * n; at += 8, to += 2 * stride) {
          work[to] = result[at];
          work[to + 1] = result[at + 1];
          work[to + 2] = result[at + 2];
          work[to + 3] = result[at + 3];
          work[to + 4] = result[at + 4];
          work[to + 5] = result[at + 5];
          work[to + 6] = result[at + 6];
          work[to + 7] = result[at + 7];
        }
      }
      for (let row = 0; row < lightRows; row++) {
        const from = 2 * stride * row;
        work.fill(0, from + 2 * count, from + 2 * span);
        const result = rows.run(work, from, 2, !isWide);
        for (let k = n * row, at = 0; at < 2 * n; k++, at += 2)
          light[k] += weight * (result[at] * result[at] + result[at + 1] * result[at + 1]);
      }
    },
    transformLight(out, last) {
      // Rows in pairs, z = a + i b: a(k) = (z(k) + conj z(-k)) / 2, b(k) = (z(k) - conj z(-k)) / 2 i.
      // Of an even wave the last one, n / 2, comes with one that does not count.
      for (let row = 0; row < lightRows; row += 2) {
        for (let k = n * row, at = 0; at < 2 * n; k++, at += 2) {
          pair[at] = light[k];
          pair[at + 1] = light[k + n];
        }
        const result = rows.run(pair, 0, 2, false);
        let a = 2 * stride * row;
        let b = a + 2 * stride;
        for (let kx = 0; kx <= last; kx++, a += 2, b += 2) {
          const at = 2 * kx;
          const back = kx === 0 ? 0 : 2 * (n - kx);
          work[a] = 0.5 * (result[at] + result[back]);
          work[a + 1] = 0.5 * (result[at + 1] - result[back + 1]);
          work[b] = 0.5 * (result[at + 1] + result[back + 1]);
          work[b + 1] = 0.5 * (result[back] - result[at]);
        }
      }
      const filled = 2 * (last + 1);
      for (let row = lightRows; row < n; row++) {
        const from = 2 * stride * (n - row);
        work.copyWithin(2 * stride * row, from, from + filled);
      }
      const side = 2 * last + 1;
      for (let kx = 0; kx <= last; kx += together) {
        const result = columns.run(work, 2 * kx, 2 * stride, false);
        const count = Math.min(together, last + 1 - kx);
        for (let line = 0; line < count; line++) {
          // c(-kx, ky) = conj c(kx, -ky)
          let to = 2 * side * (last - kx - line);
          for (let ky = -last; ky <= last; ky++, to += 2) {
            const at = 2 * (together * (ky > 0 ? n - ky : -ky) + line);
            out[to] = result[at];
            out[to + 1] = -result[at + 1];
          }
        }
      }
    },
  };
}
