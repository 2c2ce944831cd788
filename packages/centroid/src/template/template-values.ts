/** From the table of a template to a star on pixels, with derivatives. */
import { splineCurvatures, splineWeights } from '@holdfast/psf/numerics';
import type { PixelList } from '../pixels/valid-pixels.ts';
import type { TemplateTable } from './template-table.ts';

/** A star of flux 1 on the pixels of a list, and its change as the star moves along +x and +y; one entry a pixel. */
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

const weightX = new Float64Array(4);
const weightY = new Float64Array(4);
const slopeX = new Float64Array(4);
const slopeY = new Float64Array(4);

/** Fill `out` for a star at (x, y) of the image. All pixels lie at the same places between grid points: one set of weights. */
export function fillTemplate(
  out: TemplateValues,
  list: PixelList,
  table: TemplateTable,
  x: number,
  y: number,
): void {
  const { coefficients: c, perPixel: q, width, height, x0, y0 } = table;
  const { column, rowStart, top, bottom } = list;
  const { value, byX, byY } = out;
  const tx = (-x - x0) * q;
  const ty = (-y - y0) * q;
  const mx = Math.floor(tx);
  const my = Math.floor(ty);
  splineWeights(weightX, slopeX, tx - mx, 3);
  splineWeights(weightY, slopeY, ty - my, 3);
  const [wx0, wx1, wx2, wx3] = weightX;
  const [wy0, wy1, wy2, wy3] = weightY;
  // A star that moves by +1 px moves the grid under a pixel by -q points.
  const sx0 = -q * slopeX[0];
  const sx1 = -q * slopeX[1];
  const sx2 = -q * slopeX[2];
  const sx3 = -q * slopeX[3];
  const sy0 = -q * slopeY[0];
  const sy1 = -q * slopeY[1];
  const sy2 = -q * slopeY[2];
  const sy3 = -q * slopeY[3];

  // Of each of the four grid columns and rows: phase, and pixel of the phase that stands for column or row 0.
  const nx0 = Math.floor((mx - 1) / q);
  const nx1 = Math.floor(mx / q);
  const nx2 = Math.floor((mx + 1) / q);
  const nx3 = Math.floor((mx + 2) / q);
  const ny0 = Math.floor((my - 1) / q);
  const ny1 = Math.floor(my / q);
  const ny2 = Math.floor((my + 1) / q);
  const ny3 = Math.floor((my + 2) / q);
  const plane = width * height;
  const px0 = (mx - 1 - nx0 * q) * plane + nx0;
  const px1 = (mx - nx1 * q) * plane + nx1;
  const px2 = (mx + 1 - nx2 * q) * plane + nx2;
  const px3 = (mx + 2 - nx3 * q) * plane + nx3;
  const py0 = (my - 1 - ny0 * q) * q * plane + ny0 * width;
  const py1 = (my - ny1 * q) * q * plane + ny1 * width;
  const py2 = (my + 1 - ny2 * q) * q * plane + ny2 * width;
  const py3 = (my + 2 - ny3 * q) * q * plane + ny3 * width;
  const firstColumn = -nx0;
  const lastColumn = width - 1 - nx3;
  const firstRow = -ny0;
  const lastRow = height - 1 - ny3;

  for (let row = top; row <= bottom; row++) {
    const end = rowStart[row + 1];
    let k = rowStart[row];
    if (row >= firstRow && row <= lastRow) {
      for (; k < end && column[k] < firstColumn; k++) {
        value[k] = 0;
        byX[k] = 0;
        byY[k] = 0;
      }
      const r = row * width;
      const r0 = py0 + r;
      const r1 = py1 + r;
      const r2 = py2 + r;
      const r3 = py3 + r;
      for (; k < end && column[k] <= lastColumn; k++) {
        const i = column[k];
        const k0 = px0 + i;
        const k1 = px1 + i;
        const k2 = px2 + i;
        const k3 = px3 + i;
        const a0 = c[r0 + k0];
        const b0 = c[r0 + k1];
        const c0 = c[r0 + k2];
        const d0 = c[r0 + k3];
        const a1 = c[r1 + k0];
        const b1 = c[r1 + k1];
        const c1 = c[r1 + k2];
        const d1 = c[r1 + k3];
        const a2 = c[r2 + k0];
        const b2 = c[r2 + k1];
        const c2 = c[r2 + k2];
        const d2 = c[r2 + k3];
        const a3 = c[r3 + k0];
        const b3 = c[r3 + k1];
        const c3 = c[r3 + k2];
        const d3 = c[r3 + k3];
        const line0 = wx0 * a0 + wx1 * b0 + wx2 * c0 + wx3 * d0;
        const line1 = wx0 * a1 + wx1 * b1 + wx2 * c1 + wx3 * d1;
        const line2 = wx0 * a2 + wx1 * b2 + wx2 * c2 + wx3 * d2;
        const line3 = wx0 * a3 + wx1 * b3 + wx2 * c3 + wx3 * d3;
        value[k] = wy0 * line0 + wy1 * line1 + wy2 * line2 + wy3 * line3;
        byY[k] = sy0 * line0 + sy1 * line1 + sy2 * line2 + sy3 * line3;
        byX[k] =
          wy0 * (sx0 * a0 + sx1 * b0 + sx2 * c0 + sx3 * d0) +
          wy1 * (sx0 * a1 + sx1 * b1 + sx2 * c1 + sx3 * d1) +
          wy2 * (sx0 * a2 + sx1 * b2 + sx2 * c2 + sx3 * d2) +
          wy3 * (sx0 * a3 + sx1 * b3 + sx2 * c3 + sx3 * d3);
      }
    }
    for (; k < end; k++) {
      value[k] = 0;
      byX[k] = 0;
      byY[k] = 0;
    }
  }
}

const curveX = new Float64Array(4);
const curveY = new Float64Array(4);
const corners = new Float64Array(16);

/** Sums over pixels of  pull * (second derivatives of the star by its position). */
export function sumSecondDerivatives(
  list: PixelList,
  table: TemplateTable,
  x: number,
  y: number,
  pull: Float64Array,
): { xx: number; xy: number; yy: number } {
  const { coefficients, perPixel: q, width, height, x0, y0 } = table;
  const { count, column, row } = list;
  const tx = (-x - x0) * q;
  const ty = (-y - y0) * q;
  const mx = Math.floor(tx);
  const my = Math.floor(ty);
  // The sum over pixels comes first, grid point by grid point: the weights are common to all.
  corners.fill(0);
  for (let j = 0; j < 4; j++)
    for (let i = 0; i < 4; i++) {
      const gx = mx - 1 + i;
      const gy = my - 1 + j;
      const nx = Math.floor(gx / q);
      const ny = Math.floor(gy / q);
      const start = ((gy - ny * q) * q + gx - nx * q) * width * height;
      let sum = 0;
      for (let k = 0; k < count; k++) {
        const c = column[k] + nx;
        const r = row[k] + ny;
        if (c >= 0 && c < width && r >= 0 && r < height) sum += pull[k] * coefficients[start + r * width + c];
      }
      corners[j * 4 + i] = sum;
    }
  splineWeights(weightX, slopeX, tx - mx, 3);
  splineWeights(weightY, slopeY, ty - my, 3);
  splineCurvatures(curveX, tx - mx, 3);
  splineCurvatures(curveY, ty - my, 3);
  let xx = 0;
  let xy = 0;
  let yy = 0;
  for (let j = 0; j < 4; j++)
    for (let i = 0; i < 4; i++) {
      const c = corners[j * 4 + i];
      xx += curveX[i] * weightY[j] * c;
      xy += slopeX[i] * slopeY[j] * c;
      yy += weightX[i] * curveY[j] * c;
    }
  return { xx: q * q * xx, xy: q * q * xy, yy: q * q * yy };
}
