/**
 * A template as a table: coefficients of cubic B-splines on a grid of several points per pixel. They give the
 * light in a pixel at any distance from the star's center, and its derivatives, so that no star is rendered
 * while fitting.
 */
import { prepareSplineFilter, splineCurvatures, splineWeights } from '@holdfast/psf/numerics';
import type { PixelList } from '../pixels/valid-pixels.ts';
import type { TemplateSamples } from './star-template.ts';

/**
 * Grid points of the table per pixel, at least: for a star of FWHM 2.5 px the spline is right to 2e-5 of its
 * peak.
 */
const leastPerPixel = 4;

/** Samples that are too far apart for that are interpolated by splines of this degree first. */
const resamplingDegree = 9;

/**
 * Beyond the box outside of which all samples are below this share of the highest one, a template is empty.
 */
const emptyShare = 1e-9;

/** Empty samples kept around that box: spline coefficients fade by a factor of 3.7 from each to the next. */
const marginSamples = 16;

/**
 * Coefficients by phase: the ones that are whole pixels apart lie side by side, as a row of pixels asks for
 * them.
 */
export interface TemplateTable {
  readonly coefficients: Float64Array;
  readonly perPixel: number;
  /** Pixels along each side of one phase. */
  readonly width: number;
  readonly height: number;
  /** Place of the first coefficient from the star's center, px. */
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
  let at = 0;
  for (let b = 0; b < q; b++)
    for (let a = 0; a < q; a++)
      for (let j = b; j < rows; j += q)
        for (let i = a; i < columns; i += q) coefficients[at++] = grid[j * columns + i];
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

/**
 * A star of flux 1 on the pixels of a list, and its change as the star moves along +x and +y; one entry per
 * pixel.
 */
export interface TemplateValues {
  readonly value: Float64Array;
  readonly byX: Float64Array;
  readonly byY: Float64Array;
}

export function createTemplateValues(capacity: number): TemplateValues {
  return {
    value: new Float64Array(capacity),
    byX: new Float64Array(capacity),
    byY: new Float64Array(capacity),
  };
}

/**
 * The four grid points along one axis that the pixels rest on. Every pixel lies at the same place between its
 * grid points, so that one set of weights serves all.
 */
interface GridPoints {
  /** B-spline weights, and their first derivatives by the star's position, per px. */
  readonly weight: Float64Array;
  readonly slope: Float64Array;
  /**
   * The pixel of its phase that belongs to column (or row) 0 of the image, and where that lies in the
   * coefficients.
   */
  readonly pixel: Int32Array;
  readonly offset: Int32Array;
}

const createGridPoints = (): GridPoints => ({
  weight: new Float64Array(4),
  slope: new Float64Array(4),
  pixel: new Int32Array(4),
  offset: new Int32Array(4),
});
const across = createGridPoints();
const down = createGridPoints();

/**
 * @param place  where column (or row) 0 of the image lies, from the first grid point, px
 * @param q      grid points per pixel
 * @param phaseStep coefficients from one phase to the next, and `pixelStep` from one pixel of a phase to the
 *   next
 * @returns how far behind a grid point the pixels lie, in grid steps
 */
function placeOnGrid(
  { weight, slope, pixel, offset }: GridPoints,
  place: number,
  q: number,
  phaseStep: number,
  pixelStep: number,
): number {
  const m = Math.floor(place * q);
  const behind = place * q - m;
  splineWeights(weight, slope, behind, 3);
  for (let i = 0; i < 4; i++) {
    // A star that moves by +1 px moves the grid under a pixel by -q points.
    slope[i] *= -q;
    pixel[i] = Math.floor((m - 1 + i) / q);
    const phase = m - 1 + i - pixel[i] * q;
    offset[i] = phase * phaseStep + pixel[i] * pixelStep;
  }
  return behind;
}

/** Fill `out` for a star at (x, y) of the image. */
export function fillTemplate(
  out: TemplateValues,
  list: PixelList,
  table: TemplateTable,
  x: number,
  y: number,
): void {
  const { coefficients, perPixel: q, width, height, x0, y0 } = table;
  const { column, rowStart, top, bottom } = list;
  placeOnGrid(across, -x - x0, q, width * height, 1);
  placeOnGrid(down, -y - y0, q, q * width * height, width);
  const firstColumn = -across.pixel[0];
  const lastColumn = width - 1 - across.pixel[3];
  const firstRow = -down.pixel[0];
  const lastRow = height - 1 - down.pixel[3];
  for (let row = top; row <= bottom; row++) {
    const end = rowStart[row + 1];
    let from = rowStart[row];
    let to = from;
    if (row >= firstRow && row <= lastRow) {
      while (from < end && column[from] < firstColumn) from++;
      to = from;
      while (to < end && column[to] <= lastColumn) to++;
      fillRun(out, coefficients, row * width, column, from, to);
    }
    clearRun(out, rowStart[row], from);
    clearRun(out, to, end);
  }
}

/** No light: beyond the table. */
function clearRun({ value, byX, byY }: TemplateValues, from: number, to: number): void {
  for (let k = from; k < to; k++) {
    value[k] = 0;
    byX[k] = 0;
    byY[k] = 0;
  }
}

/**
 * The entries `from` to `to` - 1, all on the row whose coefficients begin at `start`: a sum over four by four
 * coefficients each, written out, since a loop over them takes half as long again.
 */
function fillRun(
  { value, byX, byY }: TemplateValues,
  coefficients: Float64Array,
  start: number,
  column: Int32Array,
  from: number,
  to: number,
): void {
  const { 0: x0, 1: x1, 2: x2, 3: x3 } = across.offset;
  const y0 = down.offset[0] + start;
  const y1 = down.offset[1] + start;
  const y2 = down.offset[2] + start;
  const y3 = down.offset[3] + start;
  const { 0: wx0, 1: wx1, 2: wx2, 3: wx3 } = across.weight;
  const { 0: sx0, 1: sx1, 2: sx2, 3: sx3 } = across.slope;
  const { 0: wy0, 1: wy1, 2: wy2, 3: wy3 } = down.weight;
  const { 0: sy0, 1: sy1, 2: sy2, 3: sy3 } = down.slope;
  for (let k = from; k < to; k++) {
    const i = column[k];
    const a0 = coefficients[y0 + x0 + i];
    const a1 = coefficients[y0 + x1 + i];
    const a2 = coefficients[y0 + x2 + i];
    const a3 = coefficients[y0 + x3 + i];
    const b0 = coefficients[y1 + x0 + i];
    const b1 = coefficients[y1 + x1 + i];
    const b2 = coefficients[y1 + x2 + i];
    const b3 = coefficients[y1 + x3 + i];
    const c0 = coefficients[y2 + x0 + i];
    const c1 = coefficients[y2 + x1 + i];
    const c2 = coefficients[y2 + x2 + i];
    const c3 = coefficients[y2 + x3 + i];
    const d0 = coefficients[y3 + x0 + i];
    const d1 = coefficients[y3 + x1 + i];
    const d2 = coefficients[y3 + x2 + i];
    const d3 = coefficients[y3 + x3 + i];
    const a = wx0 * a0 + wx1 * a1 + wx2 * a2 + wx3 * a3;
    const b = wx0 * b0 + wx1 * b1 + wx2 * b2 + wx3 * b3;
    const c = wx0 * c0 + wx1 * c1 + wx2 * c2 + wx3 * c3;
    const d = wx0 * d0 + wx1 * d1 + wx2 * d2 + wx3 * d3;
    value[k] = wy0 * a + wy1 * b + wy2 * c + wy3 * d;
    byY[k] = sy0 * a + sy1 * b + sy2 * c + sy3 * d;
    byX[k] =
      wy0 * (sx0 * a0 + sx1 * a1 + sx2 * a2 + sx3 * a3) +
      wy1 * (sx0 * b0 + sx1 * b1 + sx2 * b2 + sx3 * b3) +
      wy2 * (sx0 * c0 + sx1 * c1 + sx2 * c2 + sx3 * c3) +
      wy3 * (sx0 * d0 + sx1 * d1 + sx2 * d2 + sx3 * d3);
  }
}

const curveX = new Float64Array(4);
const curveY = new Float64Array(4);

/** Sums over pixels of  pull * (second derivatives of the star by its position). */
export function sumSecondDerivatives(
  list: PixelList,
  table: TemplateTable,
  x: number,
  y: number,
  pull: Float64Array,
): { xx: number; xy: number; yy: number } {
  const { perPixel: q, width, height, x0, y0 } = table;
  splineCurvatures(curveX, placeOnGrid(across, -x - x0, q, width * height, 1), 3);
  splineCurvatures(curveY, placeOnGrid(down, -y - y0, q, q * width * height, width), 3);
  let xx = 0;
  let xy = 0;
  let yy = 0;
  for (let j = 0; j < 4; j++)
    for (let i = 0; i < 4; i++) {
      // The sum over pixels comes first, grid point by grid point: the weights are common to all.
      const sum = pullOnGridPoint(list, table, i, j, pull);
      xx += curveX[i] * down.weight[j] * sum;
      xy += across.slope[i] * down.slope[j] * sum;
      yy += across.weight[i] * curveY[j] * sum;
    }
  return { xx: q * q * xx, xy, yy: q * q * yy };
}

/** Sum over pixels of pull times the coefficient that stands for grid point (i, j) of each. */
function pullOnGridPoint(
  { count, column, row }: PixelList,
  { coefficients, width, height }: TemplateTable,
  i: number,
  j: number,
  pull: Float64Array,
): number {
  const start = across.offset[i] + down.offset[j];
  const right = across.pixel[i];
  const below = down.pixel[j];
  let sum = 0;
  for (let k = 0; k < count; k++) {
    const u = column[k] + right;
    const v = row[k] + below;
    if (u >= 0 && u < width && v >= 0 && v < height)
      sum += pull[k] * coefficients[start + row[k] * width + column[k]];
  }
  return sum;
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

/**
 * Each of the lines with `factor` times as many samples, begun and ended `resamplingDegree` old samples
 * further out.
 */
function refineLines(values: Float64Array, lines: number, length: number, factor: number): Float64Array {
  const n = resamplingDegree;
  const padded = length + 2 * n;
  const before = (n - 1) / 2;
  // With zeros at both ends, so that every sample has all its neighbors.
  const stride = padded + n;
  const coefficients = new Float64Array(lines * stride);
  for (let j = 0; j < lines; j++)
    coefficients.set(values.subarray(j * length, (j + 1) * length), j * stride + before + n);
  prepareSplineFilter(padded, n)(coefficients.subarray(before), lines, stride, 1);
  const out = new Float64Array(lines * padded * factor);
  const weight = new Float64Array(n + 1);
  const slope = new Float64Array(n + 1);
  for (let r = 0; r < factor; r++) {
    splineWeights(weight, slope, r / factor, n);
    for (let j = 0, at = r; j < lines; j++)
      for (let i = j * stride; i < j * stride + padded; i++, at += factor) {
        let sum = 0;
        for (let k = 0; k <= n; k++) sum += weight[k] * coefficients[i + k];
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
