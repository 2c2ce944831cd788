/**
 * The passes of a fast Fourier transform over several lines at once, after Stockham: each pass reads one
 * array and writes another, and no values need to be sorted afterwards. (Swarztrauber 1984, Parallel
 * Computing 1, 45, gives the scheme.)
 *
 * The lines stand side by side, as columns of an image do: twiddle factors are fetched once for all of them,
 * and whole pieces of the image's rows are read.
 */
import { writePhasor } from '../angle.ts';
import { passOf8 } from './radix-8.ts';

/** Forward transforms of `lines` lines of `size` complex values each. It holds its own scratch. */
export interface RadixPasses {
  /**
   * Transform lines that stand side by side in `data`, value k of line b at `start` + `step` k + 2 b (in
   * numbers), and return the array that holds the result, value k of line b at 2 (lines k + b). It is valid
   * until the next call.
   *
   * @param half  the second half of each line is zero and is not read; for sizes of `fastLength(_, 32)`
   */
  run(data: Float64Array, start: number, step: number, half: boolean): Float64Array;
}

/**
 * The shortest line of at least so many values whose transform is quick: a power of two from 4 on, or 3 times
 * one that is at least `leastPower`.
 */
export function fastLength(least: number, leastPower: number): number {
  let power = 4;
  while (power < least) power *= 2;
  const three = Math.max(0.75 * power, 3 * leastPower);
  return three < least ? power : Math.min(power, three);
}

/** @param size  a power of two that is at least 4, or 3 times one */
export function planRadixPasses(size: number, lines: number): RadixPasses {
  const scratch = [new Float64Array(2 * size * lines), new Float64Array(2 * size * lines)];
  const passes: { readonly radix: number; readonly length: number; readonly twiddles: Float64Array }[] = [];
  const odd = size % 3 === 0 ? 3 : 1;
  for (let length = size; length > 1; length /= passes[passes.length - 1].radix) {
    // By eights and fours, then by three if that is left.
    const power = length / odd;
    const radix = power >= 8 && power !== 16 ? 8 : power >= 4 ? 4 : 3;
    passes.push({ radix, length, twiddles: twiddlesOf(length, radix) });
  }
  return {
    run(data, start, step, half) {
      let from = data;
      let begin = start;
      let apart = step;
      let gap = 2 * lines;
      for (let k = 0; k < passes.length; k++) {
        const { radix, length, twiddles } = passes[k];
        const count = length / radix;
        const to = scratch[k % 2];
        if (radix === 8) passOf8(from, begin, apart, to, twiddles, count, gap, half && k === 0);
        else if (radix === 4) passOf4(from, begin, apart, to, twiddles, count, gap);
        else passOf3(from, begin, apart, to, gap);
        from = to;
        gap *= radix;
        begin = 0;
        apart = gap;
      }
      return from;
    },
  };
}

/** exp(-2 pi i p q / length) for q = 1 ... radix - 1, in the order of p. */
function twiddlesOf(length: number, radix: number): Float64Array {
  const count = length / radix;
  const twiddles = new Float64Array(2 * (radix - 1) * count);
  for (let p = 0, at = 0; p < count; p++)
    for (let q = 1; q < radix; q++, at += 2) writePhasor(twiddles, at, -(p * q) / length);
  return twiddles;
}

/**
 * y[q + gap (4 p + r)] = w^(p r) * transform of x[start + q + step (p + count j)] over j; r and j from 0 to
 * 3.
 */
function passOf4(
  x: Float64Array,
  start: number,
  step: number,
  y: Float64Array,
  w: Float64Array,
  count: number,
  gap: number,
): void {
  const far = step * count;
  for (let p = 0, t = 0; p < count; p++, t += 6) {
    const w1r = w[t];
    const w1i = w[t + 1];
    const w2r = w[t + 2];
    const w2i = w[t + 3];
    const w3r = w[t + 4];
    const w3i = w[t + 5];
    const begin = start + step * p;
    for (let a = begin, at = 4 * gap * p; a < begin + gap; a += 2, at += 2) {
      const b = a + far;
      const c = b + far;
      const d = c + far;
      const sr = x[a] + x[c];
      const si = x[a + 1] + x[c + 1];
      const dr = x[a] - x[c];
      const di = x[a + 1] - x[c + 1];
      const ur = x[b] + x[d];
      const ui = x[b + 1] + x[d + 1];
      const vr = x[b + 1] - x[d + 1];
      const vi = x[d] - x[b];
      y[at] = sr + ur;
      y[at + 1] = si + ui;
      let re = dr + vr;
      let im = di + vi;
      y[at + gap] = re * w1r - im * w1i;
      y[at + gap + 1] = re * w1i + im * w1r;
      re = sr - ur;
      im = si - ui;
      y[at + 2 * gap] = re * w2r - im * w2i;
      y[at + 2 * gap + 1] = re * w2i + im * w2r;
      re = dr - vr;
      im = di - vi;
      y[at + 3 * gap] = re * w3r - im * w3i;
      y[at + 3 * gap + 1] = re * w3i + im * w3r;
    }
  }
}

/** cos and sin of a third of a circle. */
const cos3 = -0.5;
const sin3 = Math.sqrt(0.75);

/** Lines of three: the last pass. */
function passOf3(x: Float64Array, start: number, step: number, y: Float64Array, gap: number): void {
  for (let at = 0; at < gap; at += 2) {
    const a = start + at;
    const b = a + step;
    const c = b + step;
    const sr = x[b] + x[c];
    const si = x[b + 1] + x[c + 1];
    // -i sin (b - c)
    const dr = sin3 * (x[b + 1] - x[c + 1]);
    const di = sin3 * (x[c] - x[b]);
    const mr = x[a] + cos3 * sr;
    const mi = x[a + 1] + cos3 * si;
    y[at] = x[a] + sr;
    y[at + 1] = x[a + 1] + si;
    y[at + gap] = mr + dr;
    y[at + gap + 1] = mi + di;
    y[at + 2 * gap] = mr - dr;
    y[at + 2 * gap + 1] = mi - di;
  }
}
