/**
 * A template as a table: coefficients of cubic B-splines on a grid of several points a pixel, from which template-values.ts
 * takes what a pixel at any distance from the star's centre holds of its light. No star is drawn while fitting.
 */
import { prepareSplineFilter, splineWeights } from '@holdfast/psf/numerics';
import type { TemplateSamples } from './star-template.ts';

/** Grid points of the table per pixel, at least: for a star of FWHM 2.5 px the spline is right to 2e-5 of its peak. */
const leastPerPixel = 4;

/** Samples that are too far apart for that are interpolated by splines of this degree first. */
const resamplingDegree = 9;

/** Beyond the box outside of which all samples are below this share of the highest one, a template is empty. */
const emptyShare = 1e-9;

/** Empty samples kept around that box: spline coefficients fade by a factor of 3.7 from each to the next. */
const marginSamples = 16;

/** Coefficients by phase: the ones that are whole pixels apart lie side by side, as a row of pixels asks for them. */
export interface TemplateTable {
  readonly coefficients: Float64Array;
  readonly perPixel: number;
  /** Pixels along each side of one phase. */
  readonly width: number;
  readonly height: number;
  /** Place of the first coefficient from the star's centre, px. */
  readonly x0: number;
  readonly y0: number;
  /** Share of the star's light that the template holds at all. */
  readonly light: number;
  /** The highest pixel of a star of flux 1 that stands on a grid point. */
  readonly peak: number;
}

export function tabulateTemplate(samples: TemplateSamples): TemplateTable {
  const fine = samples.perPixel < leastPerPixel ? refine(samples) : samples;
  const q = fine.perPixel;
  const { left, right, top, bottom, peak } = lightBox(fine);
  const width = Math.ceil((right - left + 1 + 2 * marginSamples) / q);
  const height = Math.ceil((bottom - top + 1 + 2 * marginSamples) / q);
  const columns = width * q;
  const rows = height * q;
  const grid = new Float64Array(columns * rows);
  let sum = 0;
  for (let j = top; j <= bottom; j++)
    for (let i = left; i <= right; i++) {
      const v = fine.values[j * fine.width + i];
      grid[(j - top + marginSamples) * columns + i - left + marginSamples] = v;
      sum += v;
    }
  prepareSplineFilter(columns, 3)(grid, rows, columns, 1);
  prepareSplineFilter(rows, 3)(grid, columns, 1, columns);
  const coefficients = new Float64Array(grid.length);
  for (let j = 0; j < rows; j++)
    for (let i = 0; i < columns; i++) {
      const phase = (j % q) * q + (i % q);
      coefficients[(phase * height + Math.floor(j / q)) * width + Math.floor(i / q)] = grid[j * columns + i];
    }
  return {
    coefficients,
    perPixel: q,
    width,
    height,
    x0: fine.x0 + (left - marginSamples) / q,
    y0: fine.y0 + (top - marginSamples) / q,
    light: sum / (q * q),
    peak,
  };
}

/** The samples on a grid that is finer by the least whole factor that reaches `leastPerPixel`. */
function refine({ values, width, height, perPixel, x0, y0 }: TemplateSamples): TemplateSamples {
  const factor = Math.ceil(leastPerPixel / perPixel);
  const alongX = refineLines(values, height, width, factor);
  const wide = alongX.length / height;
  const alongY = refineLines(transposed(alongX, wide, height), wide, height, factor);
  const high = alongY.length / wide;
  const pad = resamplingDegree;
  return {
    values: transposed(alongY, high, wide),
    width: wide,
    height: high,
    perPixel: perPixel * factor,
    x0: x0 - pad / perPixel,
    y0: y0 - pad / perPixel,
  };
}

/** Each of the lines with `factor` times as many samples, begun and ended `resamplingDegree` old samples further out. */
function refineLines(values: Float64Array, lines: number, length: number, factor: number): Float64Array {
  const n = resamplingDegree;
  const padded = length + 2 * n;
  const line = new Float64Array(padded);
  const out = new Float64Array(lines * padded * factor);
  const filter = prepareSplineFilter(padded, n);
  const weights = Array.from({ length: factor }, (_, r) => {
    const weight = new Float64Array(n + 1);
    splineWeights(weight, new Float64Array(n + 1), r / factor, n);
    return weight;
  });
  const before = (n - 1) / 2;
  for (let j = 0; j < lines; j++) {
    line.fill(0);
    line.set(values.subarray(j * length, (j + 1) * length), n);
    filter(line, 1, padded, 1);
    for (let i = 0, at = j * padded * factor; i < padded; i++)
      for (let r = 0; r < factor; r++, at++) {
        const weight = weights[r];
        let sum = 0;
        for (let k = Math.max(0, before - i); k <= n && i + k - before < padded; k++)
          sum += weight[k] * line[i + k - before];
        out[at] = sum;
      }
  }
  return out;
}

/** Row-major values of `width` columns and `height` rows, rows and columns exchanged. */
function transposed(values: Float64Array, width: number, height: number): Float64Array {
  const out = new Float64Array(values.length);
  for (let j = 0; j < height; j++)
    for (let i = 0; i < width; i++) out[i * height + j] = values[j * width + i];
  return out;
}

function lightBox({ values, width, height }: TemplateSamples) {
  let peak = 0;
  for (let k = 0; k < values.length; k++) if (values[k] > peak) peak = values[k];
  if (!(peak > 0)) throw new RangeError(`template must hold light, got a highest pixel of ${peak}`);
  const least = emptyShare * peak;
  let left = width;
  let right = 0;
  let top = height;
  let bottom = 0;
  for (let j = 0; j < height; j++)
    for (let i = 0; i < width; i++) {
      if (Math.abs(values[j * width + i]) < least) continue;
      left = Math.min(left, i);
      right = Math.max(right, i);
      top = Math.min(top, j);
      bottom = Math.max(bottom, j);
    }
  return { left, right, top, bottom, peak };
}
