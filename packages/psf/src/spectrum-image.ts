/** From Fourier coefficients to the pixels of a stamp, for a star at any position: the part that each render repeats. */
import { planFourier } from './fourier.ts';
import type { ImageSpectrum } from './image-spectrum.ts';
import { writePhasor } from './phasor.ts';
import type { ShapePlan, StampSize } from './star-plan.ts';

/**
 * A plan that evaluates
 *
 *   pixel[j, i] = flux / K^2 * sum over k of coefficient[k] exp(2 pi i (kx (i - x) + ky (j - y)) / K)
 *
 * exactly at every position: the coefficients are turned by the phase of the shift, waves that look alike at whole pixels
 * (k and k + K) are added, and what is left is a transform of K by K values of which only the stamp's rows are finished.
 * A pixel further than half a period from the star is set to 0, since there the image would repeat.
 *
 * @param pixelError  waves are left out from the finest on while their sum changes no pixel by more than this share of the flux
 */
export function prepareSpectrumImage(
  spectrum: ImageSpectrum,
  periodPx: number,
  { width, height }: StampSize,
  pixelError: number,
): ShapePlan {
  const period = periodPx;
  const last = lastNeeded(spectrum, pixelError * period * period);
  const columns = columnsToSum(last, period);
  const { values, waves, targets } = columns;
  const side = 2 * last + 1;
  copyColumns(values, waves, spectrum, last);

  const fourier = planFourier(period);
  const column = new Float64Array(2 * period);
  const line = new Float64Array(2 * period);
  const filled = Math.min(last, period / 2) + 1;
  const halfImage = new Float64Array(2 * height * filled);
  const columnTurn = new Float64Array(2);
  const rowTurns = new Float64Array(2 * side);
  return {
    renderInto(out, x, y, flux) {
      out.fill(0);
      // The part of the stamp that lies within half a period of the star.
      const left = Math.max(0, Math.ceil(x - period / 2));
      const right = Math.min(width - 1, Math.floor(x + period / 2));
      const top = Math.max(0, Math.ceil(y - period / 2));
      const bottom = Math.min(height - 1, Math.floor(y + period / 2));
      if (left > right || top > bottom) return;

      // Columns of waves: turn, add those that look alike, transform along y and keep the rows of the stamp.
      for (let k = 0; k < side; k++) writePhasor(rowTurns, 2 * k, ((last - k) * y) / period);
      for (let c = 0; c < waves.length; c++) {
        const target = targets[c];
        if (c === 0 || target !== targets[c - 1]) column.fill(0);
        writePhasor(columnTurn, 0, (-waves[c] * x) / period);
        const turnRe = columnTurn[0];
        const turnIm = columnTurn[1];
        let place = 2 * wrapped(-last, period);
        for (let k = 0, at = 2 * side * c; k < side; k++, at += 2) {
          const re = values[at] * turnRe - values[at + 1] * turnIm;
          const im = values[at] * turnIm + values[at + 1] * turnRe;
          const rowRe = rowTurns[2 * k];
          const rowIm = rowTurns[2 * k + 1];
          column[place] += re * rowRe - im * rowIm;
          column[place + 1] += re * rowIm + im * rowRe;
          place += 2;
          if (place === 2 * period) place = 0;
        }
        if (c + 1 < waves.length && targets[c + 1] === target) continue;
        fourier.inverse(column);
        for (let row = top; row <= bottom; row++) {
          const from = 2 * (row % period);
          halfImage[2 * (row * filled + target)] = column[from];
          halfImage[2 * (row * filled + target) + 1] = column[from + 1];
        }
      }

      // Rows two at a time, one as the real and one as the imaginary part of a transform.
      for (let row = top; row <= bottom; row += 2) {
        fillLine(line, halfImage, row, row < bottom, filled);
        fourier.inverse(line);
        for (let part = 0; part < 2 && row + part <= bottom; part++) {
          const start = (row + part) * width;
          for (let i = left; i <= right; i++)
            out[start + i] = Math.max(0, flux * line[2 * (i % period) + part]);
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

/** The finest wave that must be kept so that those beyond sum to no more than `allowed`. */
function lastNeeded({ last, coefficients }: ImageSpectrum, allowed: number): number {
  const side = 2 * last + 1;
  const sums = new Float64Array(last + 1);
  for (let ky = -last, at = 0; ky <= last; ky++)
    for (let kx = -last; kx <= last; kx++, at += 2)
      sums[Math.max(Math.abs(kx), Math.abs(ky))] += Math.sqrt(
        coefficients[at] * coefficients[at] + coefficients[at + 1] * coefficients[at + 1],
      );
  let kept = last;
  for (let left = 0; kept > 0; kept--) {
    left += sums[kept];
    if (left > allowed) break;
  }
  return side > 1 ? kept : 0;
}

const wrapped = (wave: number, period: number): number => ((wave % period) + period) % period;

interface WaveColumns {
  /** kx of each column. */
  readonly waves: Int32Array;
  /** Column of the transform that it is added to, from 0 to K / 2; equal ones stand together. */
  readonly targets: Int32Array;
  readonly values: Float64Array;
}

/** All kx that look like one of 0 ... K / 2 at whole pixels: the others follow, since the image is real. */
function columnsToSum(last: number, period: number): WaveColumns {
  const list: { wave: number; target: number }[] = [];
  for (let wave = -last; wave <= last; wave++) {
    const target = wrapped(wave, period);
    if (2 * target <= period) list.push({ wave, target });
  }
  list.sort((one, two) => one.target - two.target || one.wave - two.wave);
  return {
    waves: Int32Array.from(list, ({ wave }) => wave),
    targets: Int32Array.from(list, ({ target }) => target),
    values: new Float64Array(2 * (2 * last + 1) * list.length),
  };
}

function copyColumns(
  values: Float64Array,
  waves: Int32Array,
  { last: all, coefficients }: ImageSpectrum,
  last: number,
): void {
  const side = 2 * all + 1;
  let at = 0;
  for (let c = 0; c < waves.length; c++)
    for (let ky = -last; ky <= last; ky++) {
      const from = 2 * (side * (ky + all) + waves[c] + all);
      values[at++] = coefficients[from];
      values[at++] = coefficients[from + 1];
    }
}
