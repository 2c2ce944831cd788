/** What a simulation of guiding is told: defaults filled in, everything checked before any work. */

import { requireFinite, requireNames, requireNonNegative, requirePositive } from '@holdfast/psf/numerics';
import { type LongWorkOptions, longWorkNames } from '../long-work.ts';
import type { MovingAir } from '../motion/image-motion.ts';
import {
  correctionShares,
  type LoopTiming,
  largestStableGain,
  loopIsStable,
} from '../motion/loop-response.ts';
import { type Mount, mountOf, requireMount } from '../motion/mount.ts';
import { defaultWind, requireWind, type Wind } from '../motion/wind-gusts.ts';
import type { EstimatorName, Rig } from '../rig/rig-schema.ts';
import { type EstimatorSetting, settingOf } from '../trials/estimators.ts';
import { buildScene, type Scene, type SceneSetting } from '../trials/scene.ts';
import type { Corrections } from './control-loop.ts';
import { prepareTimeline, type Timeline, type TrackEvent } from './tracking-events.ts';

/** What the loop does around an event. */
export interface TrackPolicy {
  /**
   * `pause`: no corrections from the start of the event to its end; `carry-on`: whatever the frames show is
   * measured, and corrections follow. Default pause.
   */
  readonly duringEvents?: 'pause' | 'carry-on';
  /**
   * After a pause, `old`: back to the set point from before; `new`: the star is kept where it is found then.
   * Default old.
   */
  readonly resumeOn?: 'old' | 'new';
  /** How long the loop stays paused after an event, s. Default 0. */
  readonly pauseAfterS?: number;
  /** Frames whose mean position is the new set point; no corrections meanwhile. Default 3. */
  readonly setPointFrames?: number;
}

/** Exposures of the main camera, one after the other from the start of the run. */
export interface PictureExposures {
  /** Default 120. */
  readonly exposureS?: number;
  /** Time between two exposures, s. Default 5. */
  readonly gapS?: number;
  /** Whether exposures go on through events. If not, none begins or stays open in one. Default true. */
  readonly duringEvents?: boolean;
}

/** The air over the aperture, beside what the rig knows of it. */
export type AirSetting = Pick<MovingAir, 'windMPerS' | 'windAngleDeg' | 'outerScaleMm'>;

/** How the loop corrects. */
export interface LoopSetting extends Corrections {
  /**
   * Seconds from the end of the exposure to the correction: readout and computing. Default: the rig's
   * `correctionDelayS`.
   */
  readonly delayS: number;
  /**
   * Correction interval, s. Default: exposure and delay, so that each correction is done before the next
   * exposure.
   */
  readonly intervalS: number;
  /** Lost frames in a row after which the whole sensor is searched for the star. Default 5. */
  readonly searchAfterLost: number;
}

/** What is simulated in time, and how long. */
export interface TrackOptions extends LongWorkOptions {
  /** Seed of the simulation. */
  readonly seed: string | number;
  /** How long to look, s. */
  readonly durationS: number;
  /** Runs with air, wind, noise and open phases of their own. Default 8. */
  readonly runs?: number;
  /** Time before the start that lets the loop settle, s. Default 120. */
  readonly settleS?: number;
  /** Longest step of time, s. Default 0.1. All times of the loop are rounded to whole steps. */
  readonly stepS?: number;
  /** The guide star at the start. Default: the rig's, at the rig's `guideFocusShiftUm`. */
  readonly star?: SceneSetting;
  /** What differs from the rig's mount (`mountOf`). */
  readonly mount?: Partial<Mount>;
  /** Default: `defaultWind`. */
  readonly wind?: Wind;
  /** Default: the rig's wind, Kolmogorov. null: still air. */
  readonly air?: AirSetting | null;
  /** Default: gain of the rig, corrections before the next exposure. */
  readonly loop?: Partial<LoopSetting>;
  /** false: the mount is left to itself. Default true. */
  readonly guided?: boolean;
  /** Default: the rig's. */
  readonly estimator?: EstimatorName | EstimatorSetting;
  /**
   * `frames`: each guide frame is drawn, exposed and measured; `gaussian`: normal errors of the known rms,
   * and lost frames of the known share. Default frames.
   */
  readonly measurement?: 'frames' | 'gaussian';
  /**
   * Rms of one axis for `gaussian`, arcsec, at any focus and without lost frames. Default: by trials at each
   * focus shift.
   */
  readonly measurementRmsArcsec?: number;
  /** Focus runs and filter changes. Default none. */
  readonly events?: readonly TrackEvent[];
  /** What the loop does about them. */
  readonly policy?: TrackPolicy;
  /** Exposures of the picture. Default none. */
  readonly picture?: PictureExposures;
  /** Run a loop that swings ever wider, too. Default false: it is refused. */
  readonly allowUnstable?: boolean;
}

/** Options with every default filled in; times in whole steps where the loop needs them so. */
export interface TrackPlan {
  readonly rig: Rig;
  readonly seed: string | number;
  readonly runs: number;
  readonly durationS: number;
  readonly stepS: number;
  readonly steps: number;
  readonly settleSteps: number;
  /** As used: rounded to steps. */
  readonly timing: LoopTiming;
  readonly exposureSteps: number;
  readonly delaySteps: number;
  readonly intervalSteps: number;
  readonly scene: Scene;
  readonly mount: Mount;
  readonly wind: Wind;
  readonly air: AirSetting | null;
  readonly corrections: Corrections;
  readonly searchAfterLost: number;
  readonly guided: boolean;
  readonly estimator: EstimatorSetting;
  readonly measurement: 'frames' | 'gaussian';
  readonly measurementRmsArcsec: number | undefined;
  readonly timeline: Timeline;
  readonly policy: Required<TrackPolicy>;
  readonly picture: Required<PictureExposures>;
  readonly stable: boolean;
  /** Gain at which a loop of this timing without integral term begins to swing ever wider. */
  readonly largestStableGain: number;
}

/** @throws RangeError or TypeError naming the option, the value got and what is allowed */
export function planTracking(rig: Rig, options: TrackOptions): TrackPlan {
  requireNames(
    'options',
    options,
    longWorkNames,
    'seed durationS runs settleS stepS star mount wind air loop guided estimator measurement',
    'measurementRmsArcsec events policy picture allowUnstable',
  );
  if (options.policy !== undefined)
    requireNames('policy', options.policy, 'duringEvents resumeOn pauseAfterS setPointFrames');
  if (options.picture !== undefined) requireNames('picture', options.picture, 'exposureS gapS duringEvents');
  const { seed, durationS, runs = 8, settleS = 120, loop = {}, guided = true } = options;
  requirePositive('durationS', durationS);
  requireWhole('runs', runs, 1, 1e6);
  requireNonNegative('settleS', settleS);
  const longestStep = requirePositive('stepS', options.stepS ?? 0.1);
  const star = options.star ?? { focusShiftUm: rig.guideFocusShiftUm };
  const scene = buildScene(rig, star);
  const { exposureS } = scene;
  const exposureSteps = Math.max(1, Math.ceil(exposureS / longestStep - 1e-9));
  const stepS = exposureS / exposureSteps;
  const delayS = requireNonNegative('loop.delayS', loop.delayS ?? rig.tracking.correctionDelayS);
  const delaySteps = Math.round(delayS / stepS);
  const intervalS = requirePositive('loop.intervalS', loop.intervalS ?? exposureS + delayS);
  if (intervalS < exposureS)
    throw new RangeError(`loop.intervalS must be at least the exposure of ${exposureS} s, got ${intervalS}`);
  const intervalSteps =
    loop.intervalS === undefined
      ? exposureSteps + delaySteps
      : Math.max(exposureSteps, Math.round(intervalS / stepS));
  const timing = { exposureS, delayS: delaySteps * stepS, intervalS: intervalSteps * stepS };
  const steps = Math.ceil(durationS / stepS - 1e-9);
  if (steps > 2e7) throw new RangeError(`durationS / stepS must be at most 20000000 steps, got ${steps}`);
  const corrections = { ...loop, proportionalGain: loop.proportionalGain ?? rig.tracking.proportionalGain };
  const { stable, limit } = checkGains(corrections, timing, guided && options.allowUnstable !== true);
  const mount = { ...mountOf(rig), ...options.mount };
  requireMount(mount);
  const wind = options.wind ?? defaultWind;
  requireWind(wind);
  if (options.measurementRmsArcsec !== undefined)
    requireNonNegative('measurementRmsArcsec', options.measurementRmsArcsec);
  requireWord('measurement', options.measurement ?? 'frames', ['frames', 'gaussian']);
  return {
    rig,
    seed,
    runs,
    durationS: steps * stepS,
    stepS,
    steps,
    settleSteps: Math.round(settleS / stepS),
    timing,
    exposureSteps,
    delaySteps,
    intervalSteps,
    scene,
    mount,
    wind,
    air: options.air === undefined ? { windMPerS: rig.sky.windMPerS } : options.air,
    corrections,
    searchAfterLost: requireWhole('loop.searchAfterLost', loop.searchAfterLost ?? 5, 1, 1e6),
    guided,
    estimator: settingOf(options.estimator ?? rig.tracking.estimator),
    measurement: options.measurement ?? 'frames',
    measurementRmsArcsec: options.measurementRmsArcsec,
    timeline: prepareTimeline(options.events ?? [], star.focusShiftUm, durationS),
    policy: checkPolicy(options.policy ?? {}),
    picture: checkPicture(options.picture ?? {}),
    stable,
    largestStableGain: limit,
  };
}

function checkGains(
  { proportionalGain, integralGain = 0 }: Corrections,
  timing: LoopTiming,
  refuse: boolean,
): { stable: boolean; limit: number } {
  requireFinite('loop.proportionalGain', proportionalGain);
  requireNonNegative('loop.integralGain', integralGain);
  const shares = correctionShares(timing);
  const limit = largestStableGain(shares);
  const stable = loopIsStable(shares, { proportionalGain, integralGain });
  if (refuse && !stable)
    throw new RangeError(
      proportionalGain > 0 && proportionalGain < limit
        ? `loop.integralGain of ${integralGain} makes the loop swing ever wider at a proportional gain of ${proportionalGain}; lower one of them, or set allowUnstable to see it`
        : `loop.proportionalGain must be in (0, ${limit.toPrecision(4)}) with corrections ${timing.delayS} s after exposures of ${timing.exposureS} s every ${timing.intervalS} s, got ${proportionalGain}; set allowUnstable to see the loop swing ever wider`,
    );
  return { stable, limit };
}

function checkPolicy({
  duringEvents = 'pause',
  resumeOn = 'old',
  pauseAfterS = 0,
  setPointFrames = 3,
}: TrackPolicy): Required<TrackPolicy> {
  requireWord('policy.duringEvents', duringEvents, ['pause', 'carry-on']);
  requireWord('policy.resumeOn', resumeOn, ['old', 'new']);
  requireNonNegative('policy.pauseAfterS', pauseAfterS);
  requireWhole('policy.setPointFrames', setPointFrames, 1, 1000);
  return { duringEvents, resumeOn, pauseAfterS, setPointFrames };
}

function checkPicture({
  exposureS = 120,
  gapS = 5,
  duringEvents = true,
}: PictureExposures): Required<PictureExposures> {
  requirePositive('picture.exposureS', exposureS);
  requireNonNegative('picture.gapS', gapS);
  return { exposureS, gapS, duringEvents };
}

function requireWhole(name: string, value: number, low: number, high: number): number {
  if (!(Number.isInteger(value) && value >= low && value <= high))
    throw new RangeError(`${name} must be a whole number from ${low} to ${high}, got ${value}`);
  return value;
}

function requireWord(name: string, value: string, allowed: readonly string[]): void {
  if (!allowed.includes(value))
    throw new TypeError(`${name} must be one of ${allowed.join(', ')}, got ${JSON.stringify(value)}`);
}
