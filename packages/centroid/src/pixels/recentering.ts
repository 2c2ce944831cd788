/** A window that is centered again on the position found: for how long, and what it does to the error. */

import { requireInteger } from '@holdfast/psf/numerics';
import type { EstimatorOptions } from './centroid.ts';
import { estimatorOptionNames } from './estimator-options.ts';

/** Options of an estimator that lays its window on the star. */
export interface RecenterOptions extends EstimatorOptions {
  /**
   * How often at most the window is centered again on the position found; it ends sooner once that moves by
   * less than 0.01 px. 0 leaves it on the guess. Without `radiusPx` there is nothing to center. Default 10.
   */
  readonly recenter?: number;
}

/** Their names. */
export const recenterOptionNames = `${estimatorOptionNames} recenter` as const;

const recenterDefaults = { recenter: 10 } as const;

/** @throws RangeError unless a whole number from 0 to 1000 */
export function resolveRecenter({ recenter = recenterDefaults.recenter }: RecenterOptions): number {
  return requireInteger('recenter', recenter, 0, 1000);
}

/** Centering ends when the position moves less than this, px. */
export const settledPx = 0.01;

/**
 * How far the position follows when the window's center moves by 1 px: 0 when all light lies well inside.
 */
export interface Follow {
  x: number;
  y: number;
}

/**
 * By how much errors grow when the window follows the star: 1 / (1 - follow), the sum of all further
 * shifts. Bounded, as a star that runs off with its window has no error.
 */
export function recenteringGain(follow: number): number {
  return 1 / (1 - Math.min(0.9, Math.max(-0.9, follow)));
}
