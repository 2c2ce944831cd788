/**
 * A spot diagram made into light: many weighted points where rays land, blurred by a Gaussian and integrated
 * over the pixels. The comet and every ray-traced star are drawn by this.
 *
 * The blur of variance s^2 is split into two of s^2 / 2. The first is applied once, when the plan is made: it
 * turns the points into smooth light on a grid that is tied to the star. The second goes with each render:
 * the grid's cells, taken as Gaussians, are summed in the pixels, columns and rows apart. So a render costs
 * as much as the star is large, however many rays it has.
 *
 * Replacing the smooth light by its values on a grid of step h folds spatial frequency 2 pi / h - k onto k.
 * What passes both blurs is at most exp(-(2 pi s / h)^2 / 8), the worst being half-way: 4e-11 for h = 0.453
 * s, four neighbors together 2e-10.
 */
import { exp } from '../numerics/exp-log.ts';
import { cumulativeGaussian, gaussianReach } from '../numerics/normal-distribution.ts';
import { gaussianFwhmPerSigma } from '../shapes/gaussian.ts';
import type { ImageSize, ShapePlan } from '../shapes/star-plan.ts';

/** Where rays land, relative to the position that a render is asked for, and how much light each carries. */
export interface SpotDiagram {
  /** Columns, px. */
  readonly x: Float64Array;
  /** Rows, px. */
  readonly y: Float64Array;
  /** Share of the flux; they sum to 1. */
  readonly weights: Float64Array;
}

/**
 * Blur is not drawn narrower than this FWHM, px. The pixel itself blurs by 0.29 px rms on each axis; this
 * adds 0.11 px rms, so the second moment of a star asked for without blur is high by 0.011 px^2.
 */
export const leastSpotBlurFwhmPx = 0.25;

/** The rms width with which a blur is drawn, px. */
export const spotBlurSigma = (blurFwhmPx: number): number =>
  Math.max(leastSpotBlurFwhmPx, blurFwhmPx) / gaussianFwhmPerSigma;

/** A grid of more cells than this (64 MB) is surely a mistake. */
const mostCells = 8e6;

/**
 * A spot diagram made ready for one stamp size: each pixel is right within 1e-9 of the flux for the points
 * given, whatever their number.
 *
 * @param spots       where the rays land; read here and not kept
 * @param blurFwhmPx  FWHM of the Gaussian blur, px, >= 0
 * @throws RangeError when the spots spread over so many widths of the blur that the plan would not fit in
 *   memory
 */
export function prepareSpotDiagram(spots: SpotDiagram, blurFwhmPx: number, size: ImageSize): ShapePlan {
  return prepareSmoothSpots(smoothSpots(spots, blurFwhmPx), size);
}

/** A spot diagram after the first of the two blurs: what all stamps of a star share. */
export interface SmoothSpots {
  readonly light: SmoothLight;
  /** Rms width of the second blur, px, and the number of these at which it ends. */
  readonly second: number;
  readonly reach: number;
}

/** The part of `prepareSpotDiagram` that no stamp size changes, and that takes most of its time. */
export function smoothSpots(spots: SpotDiagram, blurFwhmPx: number, fineness = finest): SmoothSpots {
  const sigma = spotBlurSigma(blurFwhmPx);
  const { reach } = fineness;
  return { light: smoothLight(spots, sigma, fineness), second: sigma * Math.SQRT1_2, reach };
}

/** How finely blurred light is drawn. */
export interface SpotFineness {
  /** Step of the grid over the rms width of the whole blur. */
  readonly step: number;
  /** Each of the two blurs ends at so many of its own rms widths. */
  readonly reach: number;
}

/** A pixel is right within 1e-9 of the flux. */
export const finest: SpotFineness = { step: 0.453, reach: 7 };

/**
 * A pixel is right within 2e-5 of the flux: neighbors fold 1e-5 together, and 1e-5 of the light lies further
 * out.
 */
export const fineForNoise: SpotFineness = { step: 0.64, reach: 4.8 };

/** The rest of `prepareSpotDiagram`. */
export function prepareSmoothSpots({ light, second, reach }: SmoothSpots, size: ImageSize): ShapePlan {
  return renderGrid(light, second, reach === finest.reach ? gaussianReach : reach, size);
}

/** Light on a grid whose point (a, b) lies at ((firstA + a) step, (firstB + b) step) from the star. */
interface SmoothLight {
  readonly step: number;
  readonly firstA: number;
  readonly firstB: number;
  readonly countA: number;
  readonly countB: number;
  /** Row-major shares of the flux. */
  readonly cells: Float64Array;
}

function smoothLight({ x, y, weights }: SpotDiagram, sigma: number, fineness: SpotFineness): SmoothLight {
  const step = fineness.step * sigma;
  const first = sigma * Math.SQRT1_2;
  const reach = Math.ceil((fineness.reach * first) / step);
  const [lowA, highA] = range(x, step);
  const [lowB, highB] = range(y, step);
  const firstA = lowA - reach;
  const firstB = lowB - reach;
  const countA = highA + 1 + reach - firstA;
  const countB = highB + 1 + reach - firstB;
  if (!(countA * countB <= mostCells))
    throw new RangeError(
      `the star must spread over at most ${mostCells} widths of its blur, got ${countA * countB}`,
    );

  const cells = new Float64Array(countA * countB);
  const span = 2 * reach;
  const columns = new Float64Array(span);
  const rows = new Float64Array(span);
  for (let n = 0; n < weights.length; n++) {
    const a = Math.floor(x[n] / step);
    const b = Math.floor(y[n] / step);
    gaussianOnGrid(columns, (a + 1 - reach) * step - x[n], step, first);
    gaussianOnGrid(rows, (b + 1 - reach) * step - y[n], step, first);
    let start = (b + 1 - reach - firstB) * countA + (a + 1 - reach - firstA);
    for (let k = 0; k < span; k++, start += countA) {
      const inRow = weights[n] * rows[k];
      for (let i = 0; i < span; i++) cells[start + i] += inRow * columns[i];
    }
  }
  return { step, firstA, firstB, countA, countB, cells };
}

/** Number of the grid point below the least, and of that below the greatest value. */
function range(values: Float64Array, step: number): [number, number] {
  let low = Infinity;
  let high = -Infinity;
  for (let n = 0; n < values.length; n++) {
    if (values[n] < low) low = values[n];
    if (values[n] > high) high = values[n];
  }
  return [Math.floor(low / step), Math.floor(high / step)];
}

/**
 * out[k] = step g(from + k step) of a Gaussian density g, each from the one before by a ratio that is itself
 * geometric.
 */
function gaussianOnGrid(out: Float64Array, from: number, step: number, sigma: number): void {
  const u = from / sigma;
  const h = step / sigma;
  let value = (h / Math.sqrt(2 * Math.PI)) * exp(-0.5 * u * u);
  let ratio = exp(-h * (u + 0.5 * h));
  const change = exp(-h * h);
  for (let k = 0; k < out.length; k++) {
    out[k] = value;
    value *= ratio;
    ratio *= change;
  }
}

function renderGrid(
  light: SmoothLight,
  second: number,
  widths: number,
  { width, height }: ImageSize,
): ShapePlan {
  const { step, firstA, firstB, countA, countB, cells } = light;
  const reach = widths * second + 0.5;
  const most = Math.min(Math.max(width, height), Math.floor(2 * reach) + 2);
  // For each column of the grid the pixels that it reaches, and its share in each of them.
  const fromOf = new Int32Array(countA);
  const toOf = new Int32Array(countA);
  const shares = new Float64Array(countA * most);
  const line = new Float64Array(width);
  return {
    renderInto(out, x, y, flux) {
      out.fill(0);
      for (let a = 0; a < countA; a++) {
        const center = x + (firstA + a) * step;
        const from = Math.min(width, Math.max(0, Math.ceil(center - reach)));
        const to = Math.max(from, Math.min(width, Math.floor(center + reach) + 1));
        fromOf[a] = from;
        toOf[a] = to;
        if (from === to) continue;
        let below = cumulativeGaussian((from - 0.5 - center) / second);
        for (let i = from, k = a * most; i < to; i++, k++) {
          const above = cumulativeGaussian((i + 0.5 - center) / second);
          shares[k] = above > below ? above - below : 0;
          below = above;
        }
      }
      for (let b = 0; b < countB; b++) {
        const center = y + (firstB + b) * step;
        const from = Math.max(0, Math.ceil(center - reach));
        const to = Math.min(height, Math.floor(center + reach) + 1);
        if (from >= to) continue;

        // The grid's row b in the columns of the stamp ...
        let left = width;
        let right = 0;
        for (let a = 0, cell = b * countA; a < countA; a++, cell++) {
          const value = cells[cell];
          if (value === 0) continue;
          const start = fromOf[a];
          const end = toOf[a];
          if (start === end) continue;
          if (start < left) left = start;
          if (end > right) right = end;
          for (let i = start, k = a * most; i < end; i++, k++) line[i] += value * shares[k];
        }

        // ... and from there in its rows.
        let below = cumulativeGaussian((from - 0.5 - center) / second);
        for (let j = from; j < to && left < right; j++) {
          const above = cumulativeGaussian((j + 0.5 - center) / second);
          const share = above > below ? flux * (above - below) : 0;
          below = above;
          for (let i = left, k = j * width + left; i < right; i++, k++) out[k] += share * line[i];
        }
        line.fill(0, left, right);
      }
    },
  };
}
