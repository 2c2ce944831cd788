/** Many trials of one scene: how far the measured position lies from the true one, and how often there is none. */
import type { FailureReason } from '@holdfast/centroid';
import { prepareEstimator } from './estimators.ts';
import { leastError } from './least-error.ts';
import type { EstimatorName } from './rig-schema.ts';
import type { Scene } from './scene.ts';
import { type SimulatedFrame, simulateFrames, stratum } from './simulated-frames.ts';
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
export interface PositionError {
  readonly estimator: EstimatorName;
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
  /** Mean of the errors that the estimator itself predicted, px. */
  readonly predictedPx?: number;
  /** Least possible error (Cramer-Rao bound) with known flux and background, px: by formula, without error. */
  readonly boundPx: number;
  /** rms over bound. */
  readonly boundRatio?: Estimate;
}

/** How many trials to run, and from which random numbers. */
export interface TrialOptions {
  readonly seed: string | number;
  /** Largest number of trials; a multiple of 64 is used. Default 1024. */
  readonly trials?: number;
  /**
   * Stop sooner when the rms of every estimator is known this well (standard error over value). Default 0: run all
   * trials. At least 256 are run.
   */
  readonly relativePrecision?: number;
}

const leastTrials = 4 * stratum;

/**
 * Position error of one estimator on one scene.
 *
 * ```ts
 * const error = measureError(buildScene(rig, { focusShiftUm: 150 }), { estimator: 'gaussianFit', seed: 1 })
 * ```
 */
export function measureError(
  scene: Scene,
  { estimator, ...options }: TrialOptions & { readonly estimator: EstimatorName },
): PositionError {
  return compareEstimators(scene, { ...options, estimators: [estimator] })[0];
}

/**
 * Position error of several estimators on the same frames. Star positions are stratified over the pixel; each trial
 * draws from streams of its own, so the result does not depend on who runs it or in which order.
 *
 * @returns one entry an estimator, in the order asked for
 * @throws RangeError when trials or relativePrecision is out of range
 */
export function compareEstimators(
  scene: Scene,
  {
    estimators,
    seed,
    trials = 1024,
    relativePrecision = 0,
  }: TrialOptions & { readonly estimators: readonly EstimatorName[] },
): PositionError[] {
  if (!(Number.isInteger(trials) && trials >= 1 && trials <= 1e7))
    throw new RangeError(`trials must be a whole number from 1 to 10000000, got ${trials}`);
  if (!(relativePrecision >= 0 && relativePrecision < 1))
    throw new RangeError(`relativePrecision must be in [0, 1), got ${relativePrecision}`);
  const limit = Math.max(stratum, Math.ceil(trials / stratum) * stratum);
  const frames = simulateFrames(scene, seed);
  const tallies = estimators.map((name) => new Tally(name, scene, frames.backgroundSigma, limit));
  let done = 0;
  while (done < limit) {
    for (let i = 0; i < stratum; i++, done++) {
      const frame = frames.frame(done);
      for (const tally of tallies) tally.add(frame);
    }
    if (done >= leastTrials && tallies.every((tally) => tally.isKnownTo(relativePrecision))) break;
  }
  const bound = leastError(scene);
  return tallies.map((tally) => tally.result(done, bound));
}

/** Collects one estimator's errors. */
class Tally {
  readonly #name: EstimatorName;
  readonly #measure: ReturnType<typeof prepareEstimator>;
  readonly #errorX: Float64Array;
  readonly #errorY: Float64Array;
  readonly #lost = new Map<FailureReason, number>();
  readonly #arcsecPerPx: number;
  #located = 0;
  #predicted = 0;

  constructor(name: EstimatorName, scene: Scene, backgroundSigma: number, limit: number) {
    this.#name = name;
    this.#measure = prepareEstimator(name, scene, backgroundSigma);
    this.#errorX = new Float64Array(limit);
    this.#errorY = new Float64Array(limit);
    this.#arcsecPerPx = scene.arcsecPerPx;
  }

  add({ pixels, background, x, y }: SimulatedFrame): void {
    const found = this.#measure(pixels, background);
    if (found.ok) {
      this.#errorX[this.#located] = found.x - x;
      this.#errorY[this.#located] = found.y - y;
      this.#located++;
      this.#predicted += ((found.sigmaX ?? 0) + (found.sigmaY ?? 0)) / 2;
    } else this.#lost.set(found.reason, (this.#lost.get(found.reason) ?? 0) + 1);
  }

  isKnownTo(relativePrecision: number): boolean {
    if (this.#located < 2) return relativePrecision > 0;
    const rms = rmsPerAxis(this.#errorX, this.#errorY, this.#located);
    return rms.standardError <= relativePrecision * rms.value;
  }

  result(trials: number, boundPx: number): PositionError {
    const n = this.#located;
    const common = {
      estimator: this.#name,
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
      predictedPx: this.#predicted / n,
      boundRatio: scaled(rmsPx, 1 / boundPx),
    };
  }
}
