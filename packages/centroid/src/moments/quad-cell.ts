/**
 * Four quadrants and which of them gets more light: the simplest of all position sensors, here for
 * comparison.
 */

import { requireNames, requirePositive } from '@holdfast/psf/numerics';
import {
  type Centroid,
  type EstimatorOptions,
  type Image,
  type ImageSize,
  notLocated,
  type PreparedEstimator,
} from '../pixels/centroid.ts';
import { estimatorOptionNames, resolveOptions } from '../pixels/estimator-options.ts';
import { sizeOf } from '../pixels/image-view.ts';
import { resolveRecenter } from '../pixels/recentering.ts';
import { StarWindow } from '../pixels/star-window.ts';
import { gaussianFwhmPerSigma } from './weighted-sums.ts';

/** How the four quadrants are laid. */
export interface QuadCellOptions extends EstimatorOptions {
  /** Full width at half maximum of the star that the cell is calibrated for, px. */
  readonly fwhmPx: number;
  /**
   * How often at most the cell is moved to the position found, as a loop that keeps the star on it would.
   * Ends sooner when that moves by less than 1e-4 px; where it never does, 'not-converged'. Default 0: one
   * reading.
   */
  readonly recenter?: number;
}

const quadCellDefaults = { recenter: 0 } as const;

const leastPixels = 3;
const settledPx = 1e-4;

/**
 * Position of a star by a quad cell.
 *
 *   x = x0 + (right - left) / (right + left) * s sqrt(pi / 2),   s = fwhmPx / 2.355,   and y alike
 *
 * The quadrants meet at (x0, y0): the guess, or without one the middle of the image. A pixel that they divide
 * is shared by area. The scale is that of a Gaussian star near the middle: for another width or shape it is
 * wrong in proportion, and beyond about s the reading saturates. Moved along with the star (`recenter`) the
 * cell finds the place with half of the light on either side, whatever the scale, but for the step-like
 * sharing within a pixel.
 *
 * Predicted error: sigmaX^2 = (pi / 2) s^2 sum((h - signal)^2 V) / light^2, h = 1 on the right, -1 on the
 * left, V = variance of a pixel. In photon noise the variance is pi / 2 of the least possible for a Gaussian;
 * a wide cell takes in the noise of all its pixels.
 *
 * ```ts
 * const found = quadCell(stamp, { fwhmPx: 3, guess: { x: 15.5, y: 15.5 }, noise: { readNoiseE: 1.5 } })
 * ```
 * @returns position in px; or 'too-few-pixels' (fewer than 3), 'saturated', 'no-flux', 'not-converged',
 *   'outside', 'too-faint'
 * @throws RangeError or TypeError naming the option that is out of range
 */
export function quadCell(image: Image, options: QuadCellOptions): Centroid {
  return prepareQuadCell(sizeOf(image), options)(image);
}

/** {@link quadCell} made ready for many images of one size. */
export function prepareQuadCell(size: ImageSize, options: QuadCellOptions): PreparedEstimator {
  requireNames('options', options, estimatorOptionNames, 'fwhmPx recenter');
  const resolved = resolveOptions(size, options);
  const gainPx = (requirePositive('fwhmPx', options.fwhmPx) / gaussianFwhmPerSigma) * Math.sqrt(Math.PI / 2);
  const recenter = resolveRecenter({ recenter: options.recenter ?? quadCellDefaults.recenter });
  const { width, height } = resolved.size;
  const { hasNoise, minSnr } = resolved;
  const window = new StarWindow(resolved, leastPixels);
  const { list } = window;

  return (image, guess, givenBackground): Centroid => {
    const lost = window.begin(image, guess, givenBackground);
    if (lost !== undefined) return lost;
    let x = Number.isNaN(window.startX) ? (width - 1) / 2 : window.startX;
    let y = Number.isNaN(window.startY) ? (height - 1) / 2 : window.startY;
    const { column, row, value, variance } = list;
    let signalX = 0;
    let signalY = 0;
    let light = 0;
    let iterations = 0;
    let cellX = x;
    let cellY = y;
    for (;;) {
      cellX = x;
      cellY = y;
      window.selectPixels(cellX, cellY);
      iterations++;
      const refusal = window.refusal();
      if (refusal !== undefined) return refusal;
      light = 0;
      signalX = 0;
      signalY = 0;
      for (let k = 0; k < list.count; k++) {
        const v = value[k];
        light += v;
        signalX += v * sideOf(column[k] - cellX);
        signalY += v * sideOf(row[k] - cellY);
      }
      if (!(light > 0)) return notLocated('no-flux');
      signalX /= light;
      signalY /= light;
      x = cellX + gainPx * signalX;
      y = cellY + gainPx * signalY;
      if (!window.holds(x, y)) return notLocated('outside');
      const moved2 = (x - cellX) ** 2 + (y - cellY) ** 2;
      if (recenter === 0 || moved2 < settledPx * settledPx) break;
      if (iterations > recenter) return notLocated('not-converged');
    }
    if (!hasNoise) return { ok: true, x, y, flux: light, iterations };
    let xx = 0;
    let yy = 0;
    let all = 0;
    let commonX = 0;
    let commonY = 0;
    for (let k = 0; k < list.count; k++) {
      const dx = sideOf(column[k] - cellX) - signalX;
      const dy = sideOf(row[k] - cellY) - signalY;
      xx += dx * dx * variance[k];
      yy += dy * dy * variance[k];
      all += variance[k];
      commonX += dx;
      commonY += dy;
    }
    const common = window.background.sigma;
    const snr = light / Math.sqrt(all + (list.count * common) ** 2);
    if (!(snr >= minSnr)) return notLocated('too-faint');
    const sigmaX = (gainPx / light) * Math.sqrt(xx + (commonX * common) ** 2);
    const sigmaY = (gainPx / light) * Math.sqrt(yy + (commonY * common) ** 2);
    return { ok: true, x, y, flux: light, sigmaX, sigmaY, snr, iterations };
  };
}

/** 1 right of the division, -1 left of it; a divided pixel by its share. */
function sideOf(fromDivision: number): number {
  return Math.min(1, Math.max(-1, 2 * fromDivision));
}
