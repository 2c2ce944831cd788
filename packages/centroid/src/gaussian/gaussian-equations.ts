/**
 * Sums over pixels that a Gaussian fit needs, of the model
 *
 *   m(column, row) = flux * X(column) * Y(row) + background
 *
 * with pixel-integrated profiles X, Y (pixel-gaussian.ts). Every derivative of it is a product of a column
 * part and a row part, so that the loops over pixels sum column parts along a row, and the row parts are
 * multiplied in once per row.
 */

import type { PixelList } from '../pixels/valid-pixels.ts';
import type { PixelProfile } from './pixel-gaussian.ts';

/** Places of the unknowns in the model and its gradient. */
export const place = { x: 0, y: 1, sigmaX: 2, sigmaY: 3, flux: 4, background: 5 } as const;
/** Place of the seventh, of a rotated Gaussian alone: px along x from row to row. */
export const shearAt = 6;
export const modelUnknowns = 7;

/**
 * Places in matrices over the unknowns, 7 * 7 and row-major, of which only the lower triangle is filled. Each
 * is named for its row and column: x, y, s = sigmaX, t = sigmaY, f = flux, b = background. The shear is added
 * by whoever goes row by row.
 */
const at = {
  xx: 0,
  yx: 7,
  yy: 8,
  sx: 14,
  sy: 15,
  ss: 16,
  tx: 21,
  ty: 22,
  ts: 23,
  tt: 24,
  fx: 28,
  fy: 29,
  fs: 30,
  ft: 31,
  ff: 32,
  bx: 35,
  by: 36,
  bs: 37,
  bt: 38,
  bf: 39,
  bb: 40,
} as const;

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
  model: Float64Array,
): void {
  const { column, rowStart, left, top, bottom } = list;
  const background = model[place.background];
  const X = columns.share;
  for (let y = top; y <= bottom; y++) {
    const factor = model[place.flux] * rows.share[y - top];
    const end = rowStart[y + 1];
    for (let k = rowStart[y]; k < end; k++) out[k] = factor * X[column[k] - left] + background;
  }
}

/**
 * Sums over some columns (or rows) of the profile g, its derivatives x by position and s by width, and their
 * products.
 */
interface AxisSums {
  n: number;
  g: number;
  x: number;
  s: number;
  gg: number;
  gx: number;
  gs: number;
  xx: number;
  xs: number;
  ss: number;
}

const noSums = (): AxisSums => ({ n: 0, g: 0, x: 0, s: 0, gg: 0, gx: 0, gs: 0, xx: 0, xs: 0, ss: 0 });
const onColumns = noSums();
const onRows = noSums();

/** sum(weight dm/da dm/db), the approximate Hessian. All weights are 1 where none are given. */
export function sumProducts(
  out: Float64Array,
  list: PixelList,
  { columns, rows }: ModelProfiles,
  flux: number,
  weight?: Float64Array,
): void {
  const { count, column, rowStart, left, right, top, bottom } = list;
  const isRectangle = count === (right - left + 1) * (bottom - top + 1);
  out.fill(0);
  for (let y = top, next = y; y <= bottom; y = next) {
    next = y + 1;
    const start = rowStart[y];
    const end = rowStart[next];
    if (start === end) continue;
    const from = column[start] - left;
    const to = column[end - 1] + 1 - left;
    if (weight === undefined && to - from === end - start) {
      // Without weights and gaps, rows of equal extent are summed at once: the cost grows with the sides, not
      // the area.
      if (isRectangle) next = bottom + 1;
      else while (next <= bottom && hasExtent(list, next, from, to)) next++;
      sumAlong(onColumns, columns, from, to);
    } else sumAlong(onColumns, columns, start, end, list, weight);
    sumAlong(onRows, rows, y - top, next - top);
    addProducts(out, onColumns, onRows, flux);
  }
}

/** Whether row y holds the columns `from` to `to` - 1 of the list's, without a gap. */
function hasExtent({ column, rowStart, left }: PixelList, y: number, from: number, to: number): boolean {
  const start = rowStart[y];
  const end = rowStart[y + 1];
  return end - start === to - from && column[start] - left === from && column[end - 1] + 1 - left === to;
}

/** Sums over all pixels of a rectangle: each is a sum over columns times one over rows. */
function addProducts(out: Float64Array, c: AxisSums, r: AxisSums, flux: number): void {
  const flux2 = flux * flux;
  out[at.xx] += flux2 * c.xx * r.gg;
  out[at.yx] += flux2 * c.gx * r.gx;
  out[at.yy] += flux2 * c.gg * r.xx;
  out[at.sx] += flux2 * c.xs * r.gg;
  out[at.sy] += flux2 * c.gs * r.gx;
  out[at.ss] += flux2 * c.ss * r.gg;
  out[at.tx] += flux2 * c.gx * r.gs;
  out[at.ty] += flux2 * c.gg * r.xs;
  out[at.ts] += flux2 * c.gs * r.gs;
  out[at.tt] += flux2 * c.gg * r.ss;
  out[at.fx] += flux * c.gx * r.gg;
  out[at.fy] += flux * c.gg * r.gx;
  out[at.fs] += flux * c.gs * r.gg;
  out[at.ft] += flux * c.gg * r.gs;
  out[at.ff] += c.gg * r.gg;
  out[at.bx] += flux * c.x * r.g;
  out[at.by] += flux * c.g * r.x;
  out[at.bs] += flux * c.s * r.g;
  out[at.bt] += flux * c.g * r.s;
  out[at.bf] += c.g * r.g;
  out[at.bb] += c.n * r.n;
}

/**
 * Sums over the entries `from` to `to` - 1 of a profile; or over those of the list, all on one row, each with
 * its weight where there is one. They are kept in local variables, which is twice as fast.
 */
function sumAlong(
  out: AxisSums,
  { share, byPosition, bySigma }: PixelProfile,
  from: number,
  to: number,
  list?: PixelList,
  weight?: Float64Array,
): void {
  const column = list?.column;
  const left = list?.left ?? 0;
  let n = 0;
  let g = 0;
  let x = 0;
  let s = 0;
  let gg = 0;
  let gx = 0;
  let gs = 0;
  let xx = 0;
  let xs = 0;
  let ss = 0;
  for (let k = from; k < to; k++) {
    const i = column === undefined ? k : column[k] - left;
    const w = weight === undefined ? 1 : weight[k];
    const a = share[i];
    const b = byPosition[i];
    const c = bySigma[i];
    const wa = w * a;
    const wb = w * b;
    const wc = w * c;
    n += w;
    g += wa;
    x += wb;
    s += wc;
    gg += wa * a;
    gx += wa * b;
    gs += wa * c;
    xx += wb * b;
    xs += wb * c;
    ss += wc * c;
  }
  out.n = n;
  out.g = g;
  out.x = x;
  out.s = s;
  out.gg = gg;
  out.gx = gx;
  out.gs = gs;
  out.xx = xx;
  out.xs = xs;
  out.ss = ss;
}

/**
 * gradient[a] = -sum(pull dm/da), and hessian[a, b] -= sum(pull d^2 m/da db) where it is given. Without
 * `pull` the residual value - m of each pixel pulls.
 *
 * The second derivative by a position need not be summed: a Gaussian solves the heat equation, dm/dsigma =
 * sigma d^2 m/dx^2.
 *
 * @returns half the sum of squared residuals, without `pull`
 */
export function sumPulls(
  gradient: Float64Array,
  hessian: Float64Array | undefined,
  list: PixelList,
  { columns, rows }: ModelProfiles,
  model: Float64Array,
  pull?: Float64Array,
): number {
  const { column, rowStart, value, left, top, bottom } = list;
  const { share: X, byPosition: Xx, bySigma: Xs, byPositionSigma: Xxs, bySigma2: Xss } = columns;
  const flux = model[place.flux];
  const background = model[place.background];
  let squares = 0;
  let gx = 0;
  let gy = 0;
  let gs = 0;
  let gt = 0;
  let gf = 0;
  let gb = 0;
  let hyx = 0;
  let hsx = 0;
  let hsy = 0;
  let hss = 0;
  let htx = 0;
  let hty = 0;
  let hts = 0;
  let htt = 0;
  for (let y = top; y <= bottom; y++) {
    const start = rowStart[y];
    const end = rowStart[y + 1];
    const r = y - top;
    const Y = rows.share[r];
    const factor = flux * Y;
    // Sums along the row of what pulls, alone and times each column part.
    let sum = 0;
    let p = 0;
    let p0 = 0;
    let px = 0;
    let ps = 0;
    let pxs = 0;
    let pss = 0;
    for (let k = start; k < end; ) {
      const runEnd = endOfRun(column, k, end);
      let i = column[k] - left;
      // Two loops, since one that asks at each pixel what pulls makes the whole fit 4 % slower.
      if (pull === undefined)
        for (; k < runEnd; k++, i++) {
          const share = X[i];
          const f = value[k] - (factor * share + background);
          sum += f * f;
          p += f;
          p0 += f * share;
          px += f * Xx[i];
          ps += f * Xs[i];
          pxs += f * Xxs[i];
          pss += f * Xss[i];
        }
      else
        for (; k < runEnd; k++, i++) {
          const share = X[i];
          const f = pull[k];
          p += f;
          p0 += f * share;
          px += f * Xx[i];
          ps += f * Xs[i];
          pxs += f * Xxs[i];
          pss += f * Xss[i];
        }
    }
    const Yy = rows.byPosition[r];
    const Yt = rows.bySigma[r];
    squares += sum;
    gb += p;
    gf += p0 * Y;
    gx += px * Y;
    gy += p0 * Yy;
    gs += ps * Y;
    gt += p0 * Yt;
    hyx += px * Yy;
    hsx += pxs * Y;
    hsy += ps * Yy;
    hss += pss * Y;
    htx += px * Yt;
    hty += p0 * rows.byPositionSigma[r];
    hts += ps * Yt;
    htt += p0 * rows.bySigma2[r];
  }
  gradient[place.x] = -flux * gx;
  gradient[place.y] = -flux * gy;
  gradient[place.sigmaX] = -flux * gs;
  gradient[place.sigmaY] = -flux * gt;
  gradient[place.flux] = -gf;
  gradient[place.background] = -gb;
  if (hessian !== undefined) {
    hessian[at.xx] -= (flux * gs) / model[place.sigmaX];
    hessian[at.yx] -= flux * hyx;
    hessian[at.yy] -= (flux * gt) / model[place.sigmaY];
    hessian[at.sx] -= flux * hsx;
    hessian[at.sy] -= flux * hsy;
    hessian[at.ss] -= flux * hss;
    hessian[at.tx] -= flux * htx;
    hessian[at.ty] -= flux * hty;
    hessian[at.ts] -= flux * hts;
    hessian[at.tt] -= flux * htt;
    hessian[at.fx] -= gx;
    hessian[at.fy] -= gy;
    hessian[at.fs] -= gs;
    hessian[at.ft] -= gt;
  }
  return squares / 2;
}

/**
 * End of the neighboring columns that begin at entry k of a row which ends at `end`: most rows are one run.
 */
function endOfRun(column: Int32Array, k: number, end: number): number {
  if (column[end - 1] - column[k] === end - 1 - k) return end;
  let next = k + 1;
  while (column[next] === column[next - 1] + 1) next++;
  return next;
}
