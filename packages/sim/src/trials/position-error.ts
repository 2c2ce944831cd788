/** How an estimator does on one scene: the parts of its error that a loop feels each in its own way. */
import type { FailureReason } from '@holdfast/centroid';
import type { EstimatorName } from '../rig/rig-schema.ts';
import type { EstimatorSetting } from './estimators.ts';
import type { Estimate, Interval } from './statistics.ts';

/** Why a frame gave no position. */
export type LossReason =
  | FailureReason
  /** nothing was found in the window, and a window that holds the star finds it on the same frame */
  | 'outgrew-window';

/**
 * How an estimator does on one scene, in parts. Lengths in px of the scene (binned), 1 sigma, one axis. The
 * parts are absent when fewer than two trials gave a position.
 */
export interface PositionError<Name extends string = EstimatorName> extends EstimatorSetting<Name> {
  /** Simulated frames. */
  readonly trials: number;
  /** Trials that gave a position; all parts of the error are of these. */
  readonly located: number;
  /**
   * Share of trials without a position, with its 95 % interval. Read the parts of the error together with it.
   */
  readonly lostFraction: Interval;
  /** Trials lost, by reason. */
  readonly lostReasons: Readonly<Partial<Record<LossReason, number>>>;
  /** Share of trials with a saturated pixel in the window, with its 95 % interval. */
  readonly saturatedFraction: Interval;
  /** Side of the square that was measured, and the side that would hold the star, px. */
  readonly windowPx: number;
  /** Side of the square that would hold the star, px. */
  readonly windowToHoldPx: number;

  /**
   * Mean over all places in the pixel of measured minus true position: constant, so a loop takes it into its
   * set point.
   */
  readonly offsetXPx?: Estimate;
  /** The same along y, px. */
  readonly offsetYPx?: Estimate;
  /**
   * Rms over places in the pixel of the mean error there, offset taken off, both axes together. It counts
   * when the star moves across pixels, as after a dither.
   */
  readonly pixelPhasePx?: Estimate;
  /** Rms of what is random: between frames of a star that stands still. */
  readonly scatterXPx?: Estimate;
  /** The same along y, px. */
  readonly scatterYPx?: Estimate;
  /** Both axes together: root of the mean square. */
  readonly scatterPx?: Estimate;
  /**
   * How many located trials would tell the scatter as surely if nothing were known of their noise: the number
   * of located trials where what chance did to it was not taken out.
   */
  readonly plainTrials?: number;
  /**
   * Change of the measured position per change of the true one about the set point; 1 is ideal, 0 does not
   * follow.
   */
  readonly responseX?: Estimate;
  /** The same along y. */
  readonly responseY?: Estimate;
  /**
   * Displacement over which the response was measured: the rms motion that the loop sees, at least 0.25 px.
   */
  readonly displacementPx: number;
  /**
   * Whether the response is usable on both axes: at least 0.2, and known to be above 0. A method that does
   * not follow the star does not guide, however small its scatter; its frames count as lost.
   */
  readonly followsStar: boolean;
  /**
   * Scatter over response: the error that counts for guiding. Absent where the method does not follow the
   * star.
   */
  readonly noiseEquivalentXPx?: Estimate;
  /** The same along y, px. */
  readonly noiseEquivalentYPx?: Estimate;
  /** Both axes together: root of the mean square. */
  readonly noiseEquivalentPx?: Estimate;
  /** The same, arcsec. */
  readonly noiseEquivalentArcsec?: Estimate;

  /**
   * Rms of measured minus true position, offset included, both axes together: for a catalogue of positions,
   * not for guiding.
   */
  readonly rmsAgainstTruePx?: Estimate;
  /** The same, arcsec. */
  readonly rmsAgainstTrueArcsec?: Estimate;
  /**
   * Share of the located trials that lie farther than 5 robust sigmas (from the median error) from the mean,
   * with its 95 % interval: beyond what the core of the errors explains.
   */
  readonly outlierFraction?: Interval;
  /**
   * Mean error along an axis by where in its pixel the star lies along that axis, both axes together: equal
   * steps from the left (upper) edge of the pixel to the right (lower) one; null where fewer than two trials
   * were located.
   */
  readonly errorByPhasePx?: readonly (Estimate | null)[];
  /**
   * Mean of the errors that the estimator itself predicted for the first 16 trials, px; absent when it lost
   * all of them, or nobody asked.
   */
  readonly predictedPx?: number;
  /**
   * Least possible error (Cramer-Rao bound) with known flux and background, px: by formula, without error.
   */
  readonly boundPx: number;
  /** Noise-equivalent error over bound. */
  readonly boundRatio?: Estimate;
}
