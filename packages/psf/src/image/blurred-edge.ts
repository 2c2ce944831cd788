/**
 * A point and a step on a line, blurred by a Gaussian and integrated over the pixels. The borders of pixels
 * lie one px apart, so on a grid with a whole number of points a px they all have the same distance to their
 * grid points: one Taylor series each, 3 ns a pixel.
 */
import { cumulativeSeries } from '../numerics/normal-distribution.ts';

/** Tables for one width of blur. */
export interface BlurredEdge {
  /** How far the blur reaches on each side, px. */
  readonly reach: number;
  /** Grid points per px. */
  readonly perPx: number;
  /**
   * Eight coefficients a grid point: the blurred step, whose rise within a pixel is the light of a point
   * there.
   */
  readonly step: Float64Array;
  /**
   * Eight coefficients a grid point: the blurred ramp, whose rise within a pixel is the light of a step
   * there.
   */
  readonly ramp: Float64Array;
}

/** Less than 4.1e-11 of a Gaussian lies further out than this on one side. */
const reachSigmas = 6.5;
const terms = 8;

/** Tables with at least eight grid points a sigma: the first term left out of a series is below 1e-13. */
export function makeBlurredEdge(sigma: number): BlurredEdge {
  if (last === undefined || last.sigma !== sigma) last = { sigma, edge: tabulateEdge(sigma) };
  return last.edge;
}

/** Kept, since both edges of a ring, and all that a fit draws before its next step, share their blur. */
let last: { readonly sigma: number; readonly edge: BlurredEdge } | undefined;

function tabulateEdge(sigma: number): BlurredEdge {
  const reach = reachSigmas * sigma;
  const perPx = Math.ceil(8 / sigma);
  const half = halfSize(reach, perPx);
  const step = new Float64Array((2 * half + 1) * terms);
  const ramp = new Float64Array((2 * half + 1) * terms);
  for (let g = -half; g <= half; g++) {
    const at = (g + half) * terms;
    const t = g / (perPx * sigma);
    cumulativeSeries(step, at, terms, t);
    // The integral of the step is sigma (t Phi + phi).
    ramp[at] = sigma * (t * step[at] + step[at + 1]);
    for (let m = 0, power = 1; m < terms; m++, power /= sigma) {
      step[at + m] *= power;
      if (m + 1 < terms) ramp[at + m + 1] = step[at + m] / (m + 1);
    }
  }
  return { reach, perPx, step, ramp };
}

function halfSize(reach: number, perPx: number): number {
  return Math.ceil(reach * perPx) + 1;
}

/** Add a point of light of `weight` at `center` to the pixels out[start] ... out[start + size - 1]. */
export function addPoint(
  out: Float64Array,
  start: number,
  size: number,
  center: number,
  weight: number,
  { reach, perPx, step }: BlurredEdge,
): void {
  addRises(out, start, size, center, weight, reach, perPx, step, 1, 0);
}

/** Add `weight` times per step from 0 to 1 at `center` to the pixels out[start] ... out[start + size - 1]. */
export function addStep(
  out: Float64Array,
  start: number,
  size: number,
  center: number,
  weight: number,
  { reach, perPx, ramp }: BlurredEdge,
): void {
  addRises(out, start, size, center, weight, reach, perPx, ramp, 0, 1);
  const flat = Math.max(0, Math.floor(center + 0.5 + reach) + 1);
  for (let k = start + flat; k < start + size; k++) out[k] += weight;
}

/**
 * Add `weight` times the rise of a table's function within each pixel that the blur reaches. Beyond its reach
 * the function is 0 on the left and endValue + endSlope * (distance from `center`) on the right.
 */
function addRises(
  out: Float64Array,
  start: number,
  size: number,
  center: number,
  weight: number,
  reach: number,
  perPx: number,
  table: Float64Array,
  endValue: number,
  endSlope: number,
): void {
  // Border e lies at e - 1/2, between the pixels e - 1 and e.
  const first = Math.ceil(center + 0.5 - reach);
  const last = Math.floor(center + 0.5 + reach);
  if (first > size || last < 0) return;
  const from = Math.max(first, 0);
  const to = Math.min(last, size);
  const nearest = Math.floor((from - 0.5 - center) * perPx + 0.5);
  const d = from - 0.5 - center - nearest / perPx;
  const stride = perPx * terms;
  let at = (nearest + halfSize(reach, perPx)) * terms;
  let below = 0;
  for (let e = from; e <= to; e++, at += stride) {
    const value =
      table[at] +
      d *
        (table[at + 1] +
          d *
            (table[at + 2] +
              d *
                (table[at + 3] +
                  d * (table[at + 4] + d * (table[at + 5] + d * (table[at + 6] + d * table[at + 7]))))));
    if (e > 0) out[start + e - 1] += weight * (value - below);
    below = value;
  }
  if (last < size) out[start + last] += weight * (endValue + endSlope * (last + 0.5 - center) - below);
}
