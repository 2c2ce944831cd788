/**
 * The Gaussian fit without weights, in one pass over the pixels: residuals, objective, gradient and what the residuals add
 * to the Hessian (gaussian-equations.ts has the same sums for weights of any kind, a pass each). Model, order of the
 * unknowns and layout of matrices are as there.
 */

import type { PixelList } from '../pixels/valid-pixels.ts';
import type { ModelProfiles } from './gaussian-equations.ts';
import type { PixelProfile } from './pixel-gaussian.ts';

export interface ModelAt {
  readonly flux: number;
  readonly background: number;
  readonly sigmaX: number;
  readonly sigmaY: number;
}

/**
 * Half the sum of squared residuals r = value - m. Fills  gradient[a] = -sum(r dm/da)  and subtracts  sum(r d^2 m/da db)
 * from `hessian` where it is given.
 *
 * The second derivative to a position need not be summed: a Gaussian solves the heat equation, dm/dsigma = sigma d^2 m/dx^2.
 */
export function sumResiduals(
  gradient: Float64Array,
  hessian: Float64Array | undefined,
  list: PixelList,
  { columns, rows }: ModelProfiles,
  { flux, background, sigmaX, sigmaY }: ModelAt,
): number {
  const { column, rowStart, value, left, top, bottom } = list;
  const { share: X, byPosition: Xx, bySigma: Xs, byPositionSigma: Xxs, bySigma2: Xss } = columns;
  let squares = 0;
  let gx = 0;
  let gy = 0;
  let gsx = 0;
  let gsy = 0;
  let gf = 0;
  let gb = 0;
  let hxy = 0;
  let hxsx = 0;
  let hxsy = 0;
  let hysx = 0;
  let hysy = 0;
  let hsxsx = 0;
  let hsxsy = 0;
  let hsysy = 0;
  for (let y = top; y <= bottom; y++) {
    const end = rowStart[y + 1];
    let k = rowStart[y];
    if (k === end) continue;
    const r = y - top;
    const Y = rows.share[r];
    const factor = flux * Y;
    let sum = 0;
    let p = 0;
    let p0 = 0;
    let px = 0;
    let ps = 0;
    let pxs = 0;
    let pss = 0;
    // Neighbours in a run without gaps; most rows are one run.
    while (k < end) {
      let c = column[k] - left;
      let runEnd = end;
      if (column[end - 1] - column[k] !== end - 1 - k)
        for (runEnd = k + 1; column[runEnd] === column[runEnd - 1] + 1; ) runEnd++;
      for (; k < runEnd; k++, c++) {
        const share = X[c];
        const f = value[k] - (factor * share + background);
        sum += f * f;
        p += f;
        p0 += f * share;
        px += f * Xx[c];
        ps += f * Xs[c];
        pxs += f * Xxs[c];
        pss += f * Xss[c];
      }
    }
    const Yy = rows.byPosition[r];
    const Ys = rows.bySigma[r];
    squares += sum;
    gb += p;
    gf += p0 * Y;
    gx += px * Y;
    gy += p0 * Yy;
    gsx += ps * Y;
    gsy += p0 * Ys;
    hxy += px * Yy;
    hxsx += pxs * Y;
    hxsy += px * Ys;
    hysx += ps * Yy;
    hysy += p0 * rows.byPositionSigma[r];
    hsxsx += pss * Y;
    hsxsy += ps * Ys;
    hsysy += p0 * rows.bySigma2[r];
  }
  gradient[0] = -flux * gx;
  gradient[1] = -flux * gy;
  gradient[2] = -flux * gsx;
  gradient[3] = -flux * gsy;
  gradient[4] = -gf;
  gradient[5] = -gb;
  if (hessian !== undefined) {
    hessian[0] -= (flux * gsx) / sigmaX;
    hessian[6] -= flux * hxy;
    hessian[7] -= (flux * gsy) / sigmaY;
    hessian[12] -= flux * hxsx;
    hessian[13] -= flux * hysx;
    hessian[14] -= flux * hsxsx;
    hessian[18] -= flux * hxsy;
    hessian[19] -= flux * hysy;
    hessian[20] -= flux * hsxsy;
    hessian[21] -= flux * hsysy;
    hessian[24] -= gx;
    hessian[25] -= gy;
    hessian[26] -= gsx;
    hessian[27] -= gsy;
  }
  return squares / 2;
}

/** Sums over one axis of products of the profile g and its derivatives, x to the position and s to the width. */
interface AxisSums {
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

const noSums = (): AxisSums => ({ g: 0, x: 0, s: 0, gg: 0, gx: 0, gs: 0, xx: 0, xs: 0, ss: 0 });
const onColumns = noSums();
const onRows = noSums();

/**
 * out[a, b] = sum(dm/da dm/db) over all pixels of a full rectangle of columns and rows: each sum is a sum over columns
 * times one over rows, so that the cost grows with the sides and not with the area.
 */
export function sumRectangle(
  out: Float64Array,
  width: number,
  height: number,
  { columns, rows }: ModelProfiles,
  flux: number,
): void {
  sumAxis(onColumns, columns, width);
  sumAxis(onRows, rows, height);
  const c = onColumns;
  const r = onRows;
  const flux2 = flux * flux;
  out[0] = flux2 * c.xx * r.gg;
  out[6] = flux2 * c.gx * r.gx;
  out[7] = flux2 * c.gg * r.xx;
  out[12] = flux2 * c.xs * r.gg;
  out[13] = flux2 * c.gs * r.gx;
  out[14] = flux2 * c.ss * r.gg;
  out[18] = flux2 * c.gx * r.gs;
  out[19] = flux2 * c.gg * r.xs;
  out[20] = flux2 * c.gs * r.gs;
  out[21] = flux2 * c.gg * r.ss;
  out[24] = flux * c.gx * r.gg;
  out[25] = flux * c.gg * r.gx;
  out[26] = flux * c.gs * r.gg;
  out[27] = flux * c.gg * r.gs;
  out[28] = c.gg * r.gg;
  out[30] = flux * c.x * r.g;
  out[31] = flux * c.g * r.x;
  out[32] = flux * c.s * r.g;
  out[33] = flux * c.g * r.s;
  out[34] = c.g * r.g;
  out[35] = width * height;
}

function sumAxis(out: AxisSums, { share, byPosition, bySigma }: PixelProfile, length: number): void {
  let g = 0;
  let x = 0;
  let s = 0;
  let gg = 0;
  let gx = 0;
  let gs = 0;
  let xx = 0;
  let xs = 0;
  let ss = 0;
  for (let i = 0; i < length; i++) {
    const a = share[i];
    const b = byPosition[i];
    const c = bySigma[i];
    g += a;
    x += b;
    s += c;
    gg += a * a;
    gx += a * b;
    gs += a * c;
    xx += b * b;
    xs += b * c;
    ss += c * c;
  }
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
