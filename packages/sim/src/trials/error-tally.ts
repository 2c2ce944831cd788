/** One estimator's errors over many frames, and what they come to. */
import type { FailureReason } from '@holdfast/centroid';
import { kthSmallest } from '@holdfast/psf/numerics';
import { type EstimatorSetting, type MeasureStar, prepareEstimator } from './estimators.ts';
import type { Scene } from './scene.ts';
import { phaseOf, phases, places, type SimulatedFrame } from './simulated-frames.ts';
import {
  type Estimate,
  fractionOf,
  type Interval,
  meanOf,
  rmsPerAxis,
  scaled,
  scatterOf,
} from './statistics.ts';

/** How an estimator does on one scene. Lengths in px of the scene (binned), 1 sigma, one axis. */
export interface PositionError extends EstimatorSetting {
  readonly trials: number;
  /** Trials that gave a position; bias, scatter and rms are of these. */
  readonly located: number;
  /** Share of trials without a position, with its 95 % interval. Read the rms together with it. */
  readonly lostFraction: Interval;
  /** Trials lost, by reason. */
  readonly lostReasons: Readonly<Partial<Record<FailureReason, number>>>;
  /** Mean error; `undefined` like all below when fewer than two trials gave a position. */
  readonly biasXPx?: Estimate;
  readonly biasYPx?: Estimate;
  readonly scatterXPx?: Estimate;
  readonly scatterYPx?: Estimate;
  /** Bias and scatter together, mean of both axes. */
  readonly rmsPx?: Estimate;
  readonly rmsArcsec?: Estimate;
  /**
   * Share of the located trials that lie farther than 5 robust sigmas (from the median error) from the truth, with its
   * 95 % interval: beyond what the core of the errors explains.
   */
  readonly outlierFraction?: Interval;
  /**
   * Mean error along an axis by where in its pixel the star lies along that axis, both axes together: equal steps from
   * the left (upper) edge of the pixel to the right (lower) one; null where fewer than two trials were located.
   */
  readonly biasByPhasePx?: readonly (Estimate | null)[];
  /** Mean of the errors that the estimator itself predicted for the first 16 trials, px; absent when it lost all of them. */
  readonly predictedPx?: number;
  /** Least possible error (Cramer-Rao bound) with known flux and background, px: by formula, without error. */
  readonly boundPx: number;
  /** rms over bound. */
  readonly boundRatio?: Estimate;
}

/** Beyond this many robust sigmas a position is an outlier: of 100 000 normal errors less than one. */
const outlierSigmas = 5;

/** Collects one estimator's errors. */
export class ErrorTally {
  readonly #setting: EstimatorSetting;
  readonly #measure: MeasureStar;
  readonly #measureWithError: MeasureStar;
  readonly #errorX: Float64Array;
  readonly #errorY: Float64Array;
  readonly #lost = new Map<FailureReason, number>();
  readonly #arcsecPerPx: number;
  readonly #trial: Uint32Array;
  #located = 0;
  #predicted = 0;
  #predictions = 0;

  constructor(setting: EstimatorSetting, scene: Scene, backgroundSigma: number, limit: number) {
    this.#setting = setting;
    this.#measure = prepareEstimator(setting, scene, backgroundSigma, { predictsError: false });
    this.#measureWithError = prepareEstimator(setting, scene, backgroundSigma);
    this.#errorX = new Float64Array(limit);
    this.#errorY = new Float64Array(limit);
    this.#trial = new Uint32Array(limit);
    this.#arcsecPerPx = scene.arcsecPerPx;
  }

  /** One frame, measured. */
  add({ pixels, background, x, y }: SimulatedFrame, trial: number): void {
    const isFirst = trial < places;
    const found = (isFirst ? this.#measureWithError : this.#measure)(pixels, background);
    if (found.ok) {
      this.#errorX[this.#located] = found.x - x;
      this.#errorY[this.#located] = found.y - y;
      this.#trial[this.#located] = trial;
      this.#located++;
      if (isFirst) {
        this.#predicted += ((found.sigmaX ?? 0) + (found.sigmaY ?? 0)) / 2;
        this.#predictions++;
      }
    } else this.#lost.set(found.reason, (this.#lost.get(found.reason) ?? 0) + 1);
  }

  /** Whether the standard error of the rms is this small a part of it; a star never located counts as known. */
  isKnownTo(relativePrecision: number): boolean {
    if (this.#located < 2) return relativePrecision > 0;
    const rms = rmsPerAxis(this.#errorX, this.#errorY, this.#located);
    return rms.standardError <= relativePrecision * rms.value;
  }

  result(trials: number, boundPx: number): PositionError {
    const n = this.#located;
    const common = {
      ...this.#setting,
      trials,
      located: n,
      lostFraction: fractionOf(trials - n, trials),
      lostReasons: Object.fromEntries(this.#lost),
      boundPx,
    };
    if (n < 2) return common;
    const rmsPx = rmsPerAxis(this.#errorX, this.#errorY, n);
    return {
      ...common,
      biasXPx: meanOf(this.#errorX, n),
      biasYPx: meanOf(this.#errorY, n),
      scatterXPx: scatterOf(this.#errorX, n),
      scatterYPx: scatterOf(this.#errorY, n),
      rmsPx,
      rmsArcsec: scaled(rmsPx, this.#arcsecPerPx),
      outlierFraction: this.#outlierFraction(),
      biasByPhasePx: this.#biasByPhase(),
      ...(this.#predictions > 0 ? { predictedPx: this.#predicted / this.#predictions } : {}),
      boundRatio: scaled(rmsPx, 1 / boundPx),
    };
  }

  #outlierFraction(): Interval {
    const n = this.#located;
    const squared = Float64Array.from({ length: n }, (_, i) => this.#errorX[i] ** 2 + this.#errorY[i] ** 2);
    const median = kthSmallest(squared, n >> 1);
    // Median of dx^2 + dy^2 of a circular normal error: 2 ln 2 sigma^2.
    const limit = (outlierSigmas * outlierSigmas * median) / (2 * Math.LN2);
    let outliers = 0;
    for (let i = 0; i < n; i++) if (squared[i] > limit) outliers++;
    return fractionOf(outliers, n);
  }

  #biasByPhase(): (Estimate | null)[] {
    const bins = Array.from({ length: phases }, () => [] as number[]);
    for (let i = 0; i < this.#located; i++) {
      const { phaseX, phaseY } = phaseOf(this.#trial[i]);
      bins[phaseX].push(this.#errorX[i]);
      bins[phaseY].push(this.#errorY[i]);
    }
    return bins.map((errors) => (errors.length > 1 ? meanOf(Float64Array.from(errors)) : null));
  }
}
