/**
 * From Fourier coefficients to the pixels of a stamp, for a star at any position: the part that each render
 * repeats.
 */

import { writePhasor } from '../numerics/angle.ts';
import { planRadixPasses } from '../numerics/fourier/radix-passes.ts';
import type { ImageSize, ShapePlan } from '../shapes/star-plan.ts';
import type { DiffractionSampling } from './diffraction-sampling.ts';
import type { ImageSpectrum } from './image-spectrum.ts';

/**
 * A plan that evaluates
 *
 *   pixel[j, i] = flux / K^2 * sum over k of coefficient[k] exp(2 pi i (kx (i - x) + ky (j - y)) / K)
 *
 * exactly at every position: the coefficients are turned by the phase of the shift, waves that look alike at
 * whole pixels (k and k + K) are added, and what is left is a transform of K by K values of which only the
 * stamp's rows are finished. A pixel further than half a period from the star is set to 0, since there the
 * image would repeat.
 *
 * @param negligible  waves that are weaker are left out, see `negligibleWave`
 */
export function prepareSpectrumImage(
  spectrum: ImageSpectrum,
  periodPx: number,
  { width, height }: ImageSize,
  negligible: number,
): ShapePlan {
  const period = periodPx;
  const columns = waveColumns(spectrum, period, negligible);
  const { last, waves, targets, reaches, values } = columns;
  const side = 2 * last + 1;

  const passes = planRadixPasses(period, 1);
  const column = new Float64Array(2 * period);
  const line = new Float64Array(2 * period);
  const filled = targets.length > 0 ? targets[targets.length - 1] + 1 : 0;
  const halfImage = new Float64Array(2 * height * filled);
  const rowTurns = new Float64Array(2 * period);
  const firstBlock = Math.floor(-last / period);
  const lastBlock = Math.floor(last / period);
  const blockTurns = new Float64Array(2 * (lastBlock - firstBlock + 1));
  const columnTurn = new Float64Array(2);
  return {
    renderInto(out, x, y, flux) {
      out.fill(0);
      // The part of the stamp that lies within half a period of the star.
      const left = Math.max(0, Math.ceil(x - period / 2));
      const right = Math.min(width - 1, Math.floor(x + period / 2));
      const top = Math.max(0, Math.ceil(y - period / 2));
      const bottom = Math.min(height - 1, Math.floor(y + period / 2));
      if (left > right || top > bottom) return;

      // The turn of wave k = r + K b is that of r, once for all b, times that of the block b, once for all r.
      for (let r = 0; r < period; r++) writePhasor(rowTurns, 2 * r, (-r * y) / period);
      for (let b = firstBlock; b <= lastBlock; b++) writePhasor(blockTurns, 2 * (b - firstBlock), -b * y);

      // Columns of waves: turn, add those that look alike, transform along y and keep the rows of the stamp.
      for (let c = 0; c < waves.length; c++) {
        const target = targets[c];
        if (c === 0 || target !== targets[c - 1]) column.fill(0);
        writePhasor(columnTurn, 0, (-waves[c] * x) / period);
        for (let b = firstBlock; b <= lastBlock; b++) {
          const blockRe = blockTurns[2 * (b - firstBlock)];
          const blockIm = blockTurns[2 * (b - firstBlock) + 1];
          const turnRe = columnTurn[0] * blockRe - columnTurn[1] * blockIm;
          const turnIm = columnTurn[0] * blockIm + columnTurn[1] * blockRe;
          const from = Math.max(-reaches[c], b * period);
          const to = Math.min(reaches[c], b * period + period - 1);
          addTurned(column, from - b * period, values, side * c + last + from, to - from + 1, turnRe, turnIm);
        }
        if (c + 1 < waves.length && targets[c + 1] === target) continue;
        for (let k = 0; k < 2 * period; k += 2) {
          const re = column[k];
          column[k] = re * rowTurns[k] - column[k + 1] * rowTurns[k + 1];
          column[k + 1] = re * rowTurns[k + 1] + column[k + 1] * rowTurns[k];
        }
        // What is wanted is the inverse: the same transform in reverse order.
        const pixels = passes.run(column, 0, 2, false);
        for (let row = top; row <= bottom; row++) {
          const from = 2 * ((period - (row % period)) % period);
          halfImage[2 * (row * filled + target)] = pixels[from];
          halfImage[2 * (row * filled + target) + 1] = pixels[from + 1];
        }
      }

      const scale = flux / period ** 2;
      // Rows two at a time, one as the real and one as the imaginary part of a transform.
      for (let row = top; row <= bottom; row += 2) {
        fillLine(line, halfImage, row, row < bottom, filled);
        const pixels = passes.run(line, 0, 2, false);
        for (let part = 0; part < 2 && row + part <= bottom; part++) {
          const start = (row + part) * width;
          for (let i = left; i <= right; i++)
            out[start + i] = Math.max(0, scale * pixels[2 * ((period - (i % period)) % period) + part]);
        }
      }
    },
  };

  /** Two Hermitian rows a and b as one line a + i b. */
  function fillLine(
    to: Float64Array,
    from: Float64Array,
    row: number,
    hasNext: boolean,
    count: number,
  ): void {
    to.fill(0);
    const a = 2 * row * count;
    const b = 2 * (row + 1) * count;
    for (let k = 0; k < count; k++) {
      const aRe = from[a + 2 * k];
      const aIm = from[a + 2 * k + 1];
      const bRe = hasNext ? from[b + 2 * k] : 0;
      const bIm = hasNext ? from[b + 2 * k + 1] : 0;
      to[2 * k] = aRe - bIm;
      to[2 * k + 1] = aIm + bRe;
      if (k > 0 && 2 * k < period) {
        to[2 * (period - k)] = aRe + bIm;
        to[2 * (period - k) + 1] = bRe - aIm;
      }
    }
  }
}

/**
 * Add `count` complex values times one number. As part of the render it took half as long again (measured).
 */
function addTurned(
  out: Float64Array,
  outFrom: number,
  values: Float64Array,
  valuesFrom: number,
  count: number,
  turnRe: number,
  turnIm: number,
): void {
  const end = 2 * (outFrom + count);
  for (let k = 2 * outFrom, at = 2 * valuesFrom; k < end; k += 2, at += 2) {
    const re = values[at];
    const im = values[at + 1];
    out[k] += re * turnRe - im * turnIm;
    out[k + 1] += re * turnIm + im * turnRe;
  }
}

/** The waves that make a difference, by columns of equal kx. */
interface WaveColumns {
  /** Largest |ky|. */
  readonly last: number;
  /** kx of each column. */
  readonly waves: Int32Array;
  /** Column of the transform that it is added to, from 0 to K / 2; equal ones stand together. */
  readonly targets: Int32Array;
  /** Largest |ky| in each column. */
  readonly reaches: Int32Array;
  /** Coefficients for ky from -last to last, column by column. */
  readonly values: Float64Array;
}

/**
 * Coefficients below this may all be left out: a wave adds |coefficient| / K^2 to a pixel, and there are (2
 * lastWave + 1)^2.
 *
 * @param pixelError  what that may change in a pixel, as a share of the flux
 */
export function negligibleWave({ lastWave, periodPx }: DiffractionSampling, pixelError: number): number {
  const side = 2 * lastWave + 1;
  return (pixelError * periodPx * periodPx) / (side * side);
}

/**
 * Take all kx that look like one of 0 ... K / 2 at whole pixels; the others follow, since the image is real.
 */
function waveColumns(
  { last: finest, coefficients }: ImageSpectrum,
  period: number,
  least: number,
): WaveColumns {
  const side = 2 * finest + 1;
  /** Where column kx stands, or that of which it is the conjugate. */
  const columnOf = (wave: number): number => 2 * side * (finest - Math.abs(wave));
  const reachOf = (wave: number): number => {
    const middle = columnOf(wave) + 2 * finest;
    for (let reach = finest; reach >= 0; reach--)
      for (let at = middle + 2 * reach, k = 0; k < 2; k++, at = middle - 2 * reach) {
        const square = coefficients[at] * coefficients[at] + coefficients[at + 1] * coefficients[at + 1];
        if (square > least * least) return reach;
      }
    return -1;
  };
  const list: { wave: number; target: number; reach: number }[] = [];
  for (let wave = -finest; wave <= finest; wave++) {
    const target = ((wave % period) + period) % period;
    const reach = 2 * target <= period ? reachOf(wave) : -1;
    if (reach >= 0) list.push({ wave, target, reach });
  }
  list.sort((one, two) => one.target - two.target || one.wave - two.wave);
  const last = list.reduce((most, { reach }) => Math.max(most, reach), 0);
  const values = new Float64Array(2 * (2 * last + 1) * list.length);
  let at = 0;
  for (const { wave } of list) {
    const middle = columnOf(wave) + 2 * finest;
    if (wave <= 0)
      for (let k = middle - 2 * last; k < middle + 2 * last + 2; k++) values[at++] = coefficients[k];
    else
      for (let k = middle + 2 * last; k >= middle - 2 * last; k -= 2) {
        values[at++] = coefficients[k];
        values[at++] = -coefficients[k + 1];
      }
  }
  return {
    last,
    waves: Int32Array.from(list, ({ wave }) => wave),
    targets: Int32Array.from(list, ({ target }) => target),
    reaches: Int32Array.from(list, ({ reach }) => reach),
    values,
  };
}
