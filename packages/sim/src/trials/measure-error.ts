/** Many trials of one scene: how far the measured position lies from the true one, and how often there is none. */

import type { EstimatorName } from '../rig/rig-schema.ts';
import { ErrorTally, type PositionError } from './error-tally.ts';
import { type EstimatorSetting, settingOf } from './estimators.ts';
import { leastError } from './least-error.ts';
import type { Scene } from './scene.ts';
import { simulateFrames, stratum } from './simulated-frames.ts';

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

/** Two errors and a number are kept of each trial, and no more memory is taken for them than this. */
const bytesPerTrial = 20;
const mostBytes = 1e9;

/**
 * Position error of one estimator on one scene.
 *
 * ```ts
 * const error = measureError(buildScene(rig, { focusShiftUm: 150 }), { estimator: 'gaussianFit', seed: 1 })
 * ```
 */
export function measureError(
  scene: Scene,
  { estimator, ...options }: TrialOptions & { readonly estimator: EstimatorName | EstimatorSetting },
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
  }: TrialOptions & { readonly estimators: readonly (EstimatorName | EstimatorSetting)[] },
): PositionError[] {
  if (!(Number.isInteger(trials) && trials >= 1 && trials <= 1e7))
    throw new RangeError(`trials must be a whole number from 1 to 10000000, got ${trials}`);
  if (!(relativePrecision >= 0 && relativePrecision < 1))
    throw new RangeError(`relativePrecision must be in [0, 1), got ${relativePrecision}`);
  const bytes = trials * estimators.length * bytesPerTrial;
  if (bytes > mostBytes)
    throw new RangeError(
      `trials must be at most ${Math.floor(mostBytes / estimators.length / bytesPerTrial)} for ${estimators.length} estimators, got ${trials}`,
    );
  const limit = Math.max(stratum, Math.ceil(trials / stratum) * stratum);
  const frames = simulateFrames(scene, seed);
  const tallies = estimators.map(
    (each) => new ErrorTally(settingOf(each), scene, frames.backgroundSigma, limit),
  );
  let done = 0;
  while (done < limit) {
    for (let i = 0; i < stratum; i++, done++) {
      const frame = frames.frame(done);
      for (const tally of tallies) tally.add(frame, done);
    }
    if (done >= leastTrials && tallies.every((tally) => tally.isKnownTo(relativePrecision))) break;
  }
  const bound = leastError(scene);
  return tallies.map((tally) => tally.result(done, bound));
}
