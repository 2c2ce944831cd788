/** Many trials of one scene: the parts of the position error, and how often there is no position. */

import { numberedStreams } from '@holdfast/psf/internal';
import { requireBelow, requireInteger, requireList, requireNames } from '@holdfast/psf/numerics';
import { resultOf } from '../long-work.ts';
import type { EstimatorName } from '../rig/rig-schema.ts';
import { type Displacement, ErrorTally } from './error-tally.ts';
import { type EstimatorSetting, settingOf } from './estimators.ts';
import { prepareKnownNoise } from './known-noise.ts';
import { leastError } from './least-error.ts';
import type { AnyEstimator, NameOf } from './own-estimator.ts';
import type { PositionError } from './position-error.ts';
import type { Scene } from './scene.ts';
import { places, roundSize, simulateFrames } from './simulated-frames.ts';

/** How many trials to run, and from which random numbers. */
export interface TrialOptions {
  /** Seed of the simulation. */
  readonly seed: string | number;
  /** Largest number of trials; a multiple of 64 is used. Default 1024. */
  readonly trials?: number;
  /**
   * Stop sooner when the noise-equivalent error of every estimator is known this well (standard error over
   * value). Default 0: run all trials. At least 256 are run.
   */
  readonly relativePrecision?: number;
}

/** Names of these options, for all that runs trials. */
export const trialNames = 'seed trials relativePrecision';

const leastTrials = 4 * roundSize;

/** Numbers of the frames that only fill a template: beyond those of all trials. */
const warmUpFrom = 2 ** 31;

/**
 * Errors, displacements, sums of noise and pairs are kept of each trial, and no more memory is taken for them
 * than this.
 */
const bytesPerTrial = 144;
const mostBytes = 1e9;

/**
 * Position error of one estimator on one scene.
 *
 * ```ts
 * const error = measureError(buildScene(rig, { focusShiftUm: 150 }), { estimator: 'gaussianFit', seed: 1 })
 * ```
 */
export function measureError<Estimator extends AnyEstimator>(
  scene: Scene,
  options: TrialOptions & { readonly estimator: Estimator | EstimatorSetting<Estimator> },
): PositionError<NameOf<Estimator>> {
  const { estimator, ...trials } = requireNames('options', options, trialNames, 'estimator');
  return compareEstimators<Estimator>(scene, { ...trials, estimators: [estimator] })[0];
}

/** {@link measureError} in steps of a few trials: the caller may stop between two of them. */
export function* measureInSteps<Estimator extends AnyEstimator>(
  scene: Scene,
  { estimator, ...trials }: TrialOptions & { readonly estimator: Estimator | EstimatorSetting<Estimator> },
): Generator<void, PositionError<NameOf<Estimator>>> {
  const [error] = yield* compareInSteps<Estimator>(scene, { ...trials, estimators: [estimator] });
  return error;
}

/**
 * Position error of several estimators on the same frames. Star positions are stratified over the pixel; each
 * trial draws from streams of its own, so the result does not depend on who runs it or in which order. Each
 * trial starts where a loop had the star last: off its true place by the motion of air and mount and by the
 * noise that the loop leaves. An estimator of your own is measured as ours are.
 *
 * @returns one entry per estimator, in the order asked for
 * @throws RangeError when trials or relativePrecision is out of range
 */
export function compareEstimators<Estimator extends AnyEstimator>(
  scene: Scene,
  options: TrialOptions & { readonly estimators: readonly (Estimator | EstimatorSetting<Estimator>)[] },
): PositionError<NameOf<Estimator>>[] {
  return resultOf(compareInSteps(scene, options));
}

/** {@link compareEstimators} in steps of a few trials: the caller may stop between two of them. */
export function* compareInSteps<Estimator extends AnyEstimator>(
  scene: Scene,
  options: TrialOptions & { readonly estimators: readonly (Estimator | EstimatorSetting<Estimator>)[] },
): Generator<void, PositionError<NameOf<Estimator>>[]> {
  const {
    estimators,
    seed,
    trials = 1024,
    relativePrecision = 0,
  } = requireNames('options', options, trialNames, 'estimators');
  requireList('estimators', estimators);
  requireInteger('trials', trials, 1, 1e7);
  requireBelow('relativePrecision', relativePrecision, 0, 1);
  const bytes = trials * estimators.length * bytesPerTrial;
  if (bytes > mostBytes)
    throw new RangeError(
      `trials must be at most ${Math.floor(mostBytes / estimators.length / bytesPerTrial)} for ${estimators.length} estimators, got ${trials}`,
    );
  const limit = wholeRounds(trials);
  const series = prepareTrials(scene, seed);
  const tallies = estimators.map((each) => series.tally(each, limit));
  let done = 0;
  let nextLook = leastTrials;
  while (done < limit) {
    yield* series.runInSteps(tallies, done);
    done += roundSize;
    if (done < nextLook || relativePrecision === 0) continue;
    if (tallies.every((tally) => tally.isKnownTo(relativePrecision))) break;
    // A look goes over all trials: every so often, or looks would take longer than frames.
    nextLook = wholeRounds(1.125 * done);
  }
  const boundPx = leastError(scene);
  return tallies.map((tally) => tally.result(done, boundPx));
}

/**
 * Position error of one estimator by as many trials as its purpose needs: 256, then four times as many each
 * time; in steps of a few trials.
 *
 * @param most      largest number of trials
 * @param isEnough whether this error will do; `precision` = whether its noise-equivalent error is known to
 *   `relativePrecision`
 */
export function* measureUntil(
  scene: Scene,
  {
    estimator,
    seed,
    relativePrecision = 1,
  }: TrialOptions & { readonly estimator: EstimatorName | EstimatorSetting },
  most: number,
  isEnough: (error: PositionError, isPrecise: boolean) => boolean,
): Generator<void, PositionError> {
  const limit = wholeRounds(most);
  const series = prepareTrials(scene, seed);
  const tally = series.tally(estimator, limit);
  const boundPx = leastError(scene);
  let done = 0;
  for (let until = Math.min(limit, leastTrials); ; until = Math.min(limit, 4 * until)) {
    for (; done < until; done += roundSize) yield* series.runInSteps([tally], done);
    const error = tally.result(done, boundPx);
    if (done >= limit || isEnough(error, tally.isKnownTo(relativePrecision))) return error;
  }
}

/** Trials in a step: a part of a round. */
const perStep = 8;

const wholeRounds = (trials: number): number => Math.max(1, Math.ceil(trials / roundSize)) * roundSize;

/** Trials of a batch after which it may end: two rounds of the places, of few that are asked for one. */
const leastPerBatch = (perBatch: number): number => Math.min(2 * places, perBatch / 4);

/**
 * Position error of one estimator, by all batches of trials and without each of them in turn, in steps: what
 * chance does to any result shows in these. They end early where 16, 32 ... trials of each tell the scatter
 * as surely as `perBatch` would with chance left in, and lost no frame.
 *
 * @param perBatch  trials of each batch at most, a multiple of 64
 * @returns without the least possible error, `boundPx` is 0, and without the error that the estimator
 *   predicts
 */
export function* measureInBatches<Estimator extends AnyEstimator>(
  scene: Scene,
  estimator: EstimatorSetting<Estimator>,
  seed: string | number,
  perBatch: number,
  batches: number,
): Generator<void, { readonly all: ErrorOf<Estimator>; readonly without: readonly ErrorOf<Estimator>[] }> {
  const series = prepareTrials(scene, seed);
  const first = series.tally(estimator, perBatch, false);
  const tallies = [first, ...Array.from({ length: batches - 1 }, () => first.another(perBatch))];
  const together = (some: readonly ErrorTally<Estimator>[]): ErrorTally<Estimator> => {
    const whole = first.another(some.length * perBatch);
    for (const tally of some) whole.take(tally);
    return whole;
  };
  // A template must see whole runs.
  const step = first.warmUp > 0 ? roundSize : leastPerBatch(perBatch);
  let done = 0;
  for (let until = step; ; until = Math.min(perBatch, 2 * until)) {
    for (const [batch, tally] of tallies.entries())
      for (let i = done; i < until; i += step) yield* series.runInSteps([tally], batch * perBatch + i, step);
    done = until;
    const all = together(tallies);
    if (done < perBatch && all.worth < batches * perBatch) continue;
    const without = tallies.map((tally) => together(tallies.filter((other) => other !== tally)));
    return {
      all: all.result(batches * done, 0),
      without: without.map((tally) => tally.result((batches - 1) * done, 0)),
    };
  }
}

type ErrorOf<Estimator extends AnyEstimator> = PositionError<NameOf<Estimator>>;

/** The trials of a scene by number. */
function prepareTrials(scene: Scene, seed: string | number) {
  const frames = simulateFrames(scene, seed);
  // What the loop makes of the noise moves the star, too: by about its width over its SNR.
  const width2 = (scene.blurFwhmPx / 2.355) ** 2 + (scene.outerDiameterPx / 4) ** 2;
  const motionPx = Math.sqrt(scene.motionPx ** 2 + width2 / scene.snr ** 2);
  const displacements = numberedStreams(seed, 'displacement');
  const displacementOf = (trial: number): Displacement => {
    const random = displacements(trial);
    return { x: motionPx * random.normal(), y: motionPx * random.normal() };
  };
  const begin = (tallies: readonly ErrorTally<AnyEstimator>[], first: number): void => {
    const warmUp = tallies.reduce((most, tally) => Math.max(most, tally.warmUp), 0);
    for (const tally of tallies) tally.beginRun();
    for (let i = 0; i < warmUp; i++) {
      const trial = warmUpFrom + (first / roundSize) * warmUp + i;
      const frame = frames.frame(trial);
      for (const tally of tallies) if (warmUp - i <= tally.warmUp) tally.see(frame, displacementOf(trial));
    }
  };
  const add = (tallies: readonly ErrorTally<AnyEstimator>[], first: number, end: number): void => {
    for (let trial = first; trial < end; trial++) {
      const frame = frames.frame(trial);
      const displaced = displacementOf(trial);
      for (const tally of tallies) tally.add(frame, trial, displaced);
    }
  };
  return {
    tally: <Estimator extends AnyEstimator>(
      estimator: Estimator | EstimatorSetting<Estimator>,
      limit: number,
      predicts = true,
    ) => {
      const setting = settingOf(estimator);
      const { backgroundSigma } = frames;
      return new ErrorTally(setting, limit, {
        scene,
        backgroundSigma,
        motionPx,
        predicts,
        known: prepareKnownNoise(scene, setting),
      });
    },
    /**
     * Whole rounds of the places, by default one round, and before them what a template must see; with a
     * pause after every few trials.
     */
    *runInSteps(
      tallies: readonly ErrorTally<AnyEstimator>[],
      first: number,
      count = roundSize,
    ): Generator<void, void> {
      begin(tallies, first);
      for (let trial = first; trial < first + count; trial += perStep) {
        add(tallies, trial, Math.min(trial + perStep, first + count));
        yield;
      }
    },
  };
}
