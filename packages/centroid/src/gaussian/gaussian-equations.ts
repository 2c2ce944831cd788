/**
 * Sums over pixels that a Gaussian fit needs: products of the derivatives of the model
 *
 *   m(column, row) = flux * X(column) * Y(row) + background
 *
 * with pixel-integrated profiles X, Y (pixel-gaussian.ts). As every derivative is a product of a column part and a row
 * part, the inner loops only sum column parts along a row; the row parts are multiplied in once a row.
 *
 * Unknowns, in this order: x, y, sigmaX, sigmaY, flux, background. Matrices are 6 * 6, row-major; only the lower triangle
 * is filled.
 */

import type { PixelList } from '../pixels/valid-pixels.ts';
import type { PixelProfile } from './pixel-gaussian.ts';

export const modelUnknowns = 6;

/** The profiles at one set of unknowns; entry 0 stands for the list's first column and row. */
export interface ModelProfiles {
  readonly columns: PixelProfile;
  readonly rows: PixelProfile;
}

/** Fill `out` with the model in each pixel of the list. */
export function fillModel(
  out: Float64Array,
  list: PixelList,
  { columns, rows }: ModelProfiles,
  flux: number,
  background: number,
): void {
  const { column, rowStart, left, top, bottom } = list;
  const X = columns.share;
  for (let y = top; y <= bottom; y++) {
    const factor = flux * rows.share[y - top];
    const end = rowStart[y + 1];
    for (let k = rowStart[y]; k < end; k++) out[k] = factor * X[column[k] - left] + background;
  }
}

/** Share of the light that falls on the pixels of the list. */
export function lightShare(list: PixelList, { columns, rows }: ModelProfiles): number {
  const { count, column, row, left, top } = list;
  let sum = 0;
  for (let k = 0; k < count; k++) sum += columns.share[column[k] - left] * rows.share[row[k] - top];
  return sum;
}

/** gradient[a] = -sum(pull dm/da) */
export function sumGradient(
  gradient: Float64Array,
  list: PixelList,
  { columns, rows }: ModelProfiles,
  flux: number,
  pull: Float64Array,
): void {
  const { column, rowStart, left, top, bottom } = list;
  const { share: X, byPosition: Xx, bySigma: Xs } = columns;
  gradient.fill(0);
  for (let y = top; y <= bottom; y++) {
    let p = 0;
    let p0 = 0;
    let px = 0;
    let ps = 0;
    const end = rowStart[y + 1];
    for (let k = rowStart[y]; k < end; k++) {
      const c = column[k] - left;
      const f = pull[k];
      p += f;
      p0 += f * X[c];
      px += f * Xx[c];
      ps += f * Xs[c];
    }
    const r = y - top;
    gradient[0] -= flux * px * rows.share[r];
    gradient[1] -= flux * p0 * rows.byPosition[r];
    gradient[2] -= flux * ps * rows.share[r];
    gradient[3] -= flux * p0 * rows.bySigma[r];
    gradient[4] -= p0 * rows.share[r];
    gradient[5] -= p;
  }
}

/** out[a, b] -= sum(pull d^2 m/da db) */
export function subtractCurvature(
  out: Float64Array,
  list: PixelList,
  { columns, rows }: ModelProfiles,
  flux: number,
  pull: Float64Array,
): void {
  const { column, rowStart, left, top, bottom } = list;
  const { share: X, byPosition: Xx, bySigma: Xs } = columns;
  const { byPosition2: Xxx, byPositionSigma: Xxs, bySigma2: Xss } = columns;
  for (let y = top; y <= bottom; y++) {
    let p0 = 0;
    let px = 0;
    let ps = 0;
    let pxx = 0;
    let pxs = 0;
    let pss = 0;
    const end = rowStart[y + 1];
    for (let k = rowStart[y]; k < end; k++) {
      const c = column[k] - left;
      const f = pull[k];
      p0 += f * X[c];
      px += f * Xx[c];
      ps += f * Xs[c];
      pxx += f * Xxx[c];
      pxs += f * Xxs[c];
      pss += f * Xss[c];
    }
    const r = y - top;
    const Y = rows.share[r];
    const Yy = rows.byPosition[r];
    const Ys = rows.bySigma[r];
    out[0] -= flux * pxx * Y;
    out[6] -= flux * px * Yy;
    out[7] -= flux * p0 * rows.byPosition2[r];
    out[12] -= flux * pxs * Y;
    out[13] -= flux * ps * Yy;
    out[14] -= flux * pss * Y;
    out[18] -= flux * px * Ys;
    out[19] -= flux * p0 * rows.byPositionSigma[r];
    out[20] -= flux * ps * Ys;
    out[21] -= flux * p0 * rows.bySigma2[r];
    out[24] -= px * Y;
    out[25] -= p0 * Yy;
    out[26] -= ps * Y;
    out[27] -= p0 * Ys;
  }
}

/** Scratch for sums of products over a width. */
export interface ColumnSums {
  /** Running sums of the nine products of column parts, `capacity + 1` entries each. */
  readonly running: readonly Float64Array[];
  /** The ten sums of one row: 1, X, Xx, Xs, X X, X Xx, X Xs, Xx Xx, Xx Xs, Xs Xs. */
  readonly row: Float64Array;
}

export function createColumnSums(capacity: number): ColumnSums {
  return {
    running: Array.from({ length: 9 }, () => new Float64Array(capacity + 1)),
    row: new Float64Array(10),
  };
}

/** out[a, b] = sum(weight dm/da dm/db) */
export function sumProducts(
  out: Float64Array,
  list: PixelList,
  profiles: ModelProfiles,
  flux: number,
  weight: Float64Array,
  { row }: ColumnSums,
): void {
  const { rowStart, top, bottom } = list;
  out.fill(0);
  for (let y = top; y <= bottom; y++) {
    sumWeightedRow(row, list, profiles.columns, weight, rowStart[y], rowStart[y + 1]);
    addRow(out, row, profiles.rows, y - top, flux);
  }
}

/**
 * The same with all weights 1. The sums along a row then depend on its first and last pixel only and are taken from
 * running sums, so that the cost grows with the sides of the window, not with its area.
 */
export function sumPlainProducts(
  out: Float64Array,
  list: PixelList,
  profiles: ModelProfiles,
  flux: number,
  ones: Float64Array,
  { running, row }: ColumnSums,
): void {
  const { column, rowStart, left, right, top, bottom } = list;
  const [x, xx, xs, x00, x0x, x0s, xxx, xxs, xss] = running;
  const { share: X, byPosition: Xx, bySigma: Xs } = profiles.columns;
  for (let c = 0; c <= right - left; c++) {
    x[c + 1] = x[c] + X[c];
    xx[c + 1] = xx[c] + Xx[c];
    xs[c + 1] = xs[c] + Xs[c];
    x00[c + 1] = x00[c] + X[c] * X[c];
    x0x[c + 1] = x0x[c] + X[c] * Xx[c];
    x0s[c + 1] = x0s[c] + X[c] * Xs[c];
    xxx[c + 1] = xxx[c] + Xx[c] * Xx[c];
    xxs[c + 1] = xxs[c] + Xx[c] * Xs[c];
    xss[c + 1] = xss[c] + Xs[c] * Xs[c];
  }
  out.fill(0);
  let lastFrom = -1;
  let lastTo = -1;
  for (let y = top; y <= bottom; y++) {
    const start = rowStart[y];
    const end = rowStart[y + 1];
    if (start === end) continue;
    const from = column[start] - left;
    const to = column[end - 1] + 1 - left;
    if (to - from !== end - start) {
      // pixels are missing in between
      sumWeightedRow(row, list, profiles.columns, ones, start, end);
      lastFrom = -1;
    } else if (from !== lastFrom || to !== lastTo) {
      row[0] = to - from;
      for (let i = 0; i < 9; i++) row[i + 1] = running[i][to] - running[i][from];
      lastFrom = from;
      lastTo = to;
    }
    addRow(out, row, profiles.rows, y - top, flux);
  }
}

function sumWeightedRow(
  row: Float64Array,
  { column, left }: PixelList,
  { share: X, byPosition: Xx, bySigma: Xs }: PixelProfile,
  weight: Float64Array,
  start: number,
  end: number,
): void {
  let w1 = 0;
  let w0 = 0;
  let wx = 0;
  let ws = 0;
  let w00 = 0;
  let w0x = 0;
  let w0s = 0;
  let wxx = 0;
  let wxs = 0;
  let wss = 0;
  for (let k = start; k < end; k++) {
    const c = column[k] - left;
    const w = weight[k];
    const share = X[c];
    const byX = Xx[c];
    const byS = Xs[c];
    const wShare = w * share;
    const wByX = w * byX;
    const wByS = w * byS;
    w1 += w;
    w0 += wShare;
    wx += wByX;
    ws += wByS;
    w00 += wShare * share;
    w0x += wShare * byX;
    w0s += wShare * byS;
    wxx += wByX * byX;
    wxs += wByX * byS;
    wss += wByS * byS;
  }
  row[0] = w1;
  row[1] = w0;
  row[2] = wx;
  row[3] = ws;
  row[4] = w00;
  row[5] = w0x;
  row[6] = w0s;
  row[7] = wxx;
  row[8] = wxs;
  row[9] = wss;
}

/** Multiply the sums of one row by its row parts and add them to the matrix. */
function addRow(out: Float64Array, row: Float64Array, rows: PixelProfile, r: number, flux: number): void {
  const Y = rows.share[r];
  const Yf = flux * Y;
  const Yy = flux * rows.byPosition[r];
  const Ys = flux * rows.bySigma[r];
  const w0 = row[1];
  const w00 = row[4];
  const w0x = row[5];
  const w0s = row[6];
  out[0] += row[7] * Yf * Yf;
  out[6] += w0x * Yf * Yy;
  out[7] += w00 * Yy * Yy;
  out[12] += row[8] * Yf * Yf;
  out[13] += w0s * Yf * Yy;
  out[14] += row[9] * Yf * Yf;
  out[18] += w0x * Yf * Ys;
  out[19] += w00 * Yy * Ys;
  out[20] += w0s * Yf * Ys;
  out[21] += w00 * Ys * Ys;
  out[24] += w0x * Yf * Y;
  out[25] += w00 * Y * Yy;
  out[26] += w0s * Yf * Y;
  out[27] += w00 * Y * Ys;
  out[28] += w00 * Y * Y;
  out[30] += row[2] * Yf;
  out[31] += w0 * Yy;
  out[32] += row[3] * Yf;
  out[33] += w0 * Ys;
  out[34] += w0 * Y;
  out[35] += row[0];
}
