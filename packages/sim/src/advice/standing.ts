/** How the guide star does at one setting, against the budget. */

import { axisRmsOf, type ImageGrowth, imageGrowth, rmsWithinBudgetArcsec } from '../budget/budget.ts';
import { percent, withError } from '../number-text.ts';
import type { EstimatorName, Rig } from '../rig/rig-schema.ts';
import { describeScene, type SceneDescription } from '../sweep/sweep-cell.ts';
import type { PositionError } from '../trials/error-tally.ts';
import type { EstimatorSetting } from '../trials/estimators.ts';
import { leastError } from '../trials/least-error.ts';
import { measureError, type TrialOptions } from '../trials/measure-error.ts';
import { buildScene, type Scene, type SceneSetting } from '../trials/scene.ts';
import { intervalOf, sigmas95 } from '../trials/statistics.ts';

/** How the guide star does at one focus shift with one way of measuring. */
export interface Standing {
  readonly scene: SceneDescription;
  readonly error: PositionError;
  /** Absent when no trial gave a position. */
  readonly growth?: ImageGrowth;
  /** Whether growth and lost fraction lie within the budget, at 95 % confidence. */
  readonly verdict: 'within' | 'outside' | 'too close to call';
}

export const defaultTrials = 1024;

/** A standing too close to call is tried again with four times the trials, this many times at most. */
const closerLooks = 2;

export interface StandingOptions extends TrialOptions {
  /** How often a standing that is too close to call is looked at with four times the trials. Default 2. */
  readonly looks?: number;
}

export function standingOf(
  rig: Rig,
  setting: SceneSetting,
  estimator: EstimatorName | EstimatorSetting,
  { looks = closerLooks, ...options }: StandingOptions,
): Standing {
  const scene = buildScene(rig, setting);
  let standing = judgeScene(rig, scene, measureError(scene, { ...options, estimator }));
  for (let look = 1; look <= looks && standing.verdict === 'too close to call'; look++) {
    const trials = (options.trials ?? defaultTrials) * 4 ** look;
    standing = judgeScene(rig, scene, measureError(scene, { ...options, estimator, trials }));
  }
  return standing;
}

/** Trials of a first look that sorts out what is hopeless. */
const scoutTrials = 64;

/**
 * Whether a setting is surely outside the budget: the least possible error is (no estimator does better), or a first look at
 * few trials says so at 95 % confidence.
 */
export function isHopeless(
  rig: Rig,
  setting: SceneSetting,
  estimator: EstimatorName | EstimatorSetting,
  { seed }: TrialOptions,
): boolean {
  const scene = buildScene(rig, setting);
  if (leastError(scene) * scene.arcsecPerPx > rmsWithinBudgetArcsec(rig)) return true;
  const error = measureError(scene, { seed, estimator, trials: scoutTrials });
  return judgeScene(rig, scene, error).verdict === 'outside';
}

function judgeScene(rig: Rig, scene: Scene, error: PositionError): Standing {
  return judge(rig, describeScene(scene), error);
}

/** An error against the budget. */
export function judge(rig: Rig, scene: SceneDescription, error: PositionError): Standing {
  if (error.rmsArcsec === undefined) return { scene, error, verdict: 'outside' };
  const growth = imageGrowth(rig, error.rmsArcsec, axisRmsOf(error));
  const { value, standardError } = growth.growthPercent;
  const { fwhmGrowthPercent, lostFractionPercent } = rig.budget;
  const margin = sigmas95 * standardError;
  const lost = error.lostFraction;
  const rms = intervalOf(error.rmsArcsec);
  const rmsAllowed = rig.budget.rmsErrorArcsec ?? Infinity;
  const within =
    value + margin <= fwhmGrowthPercent && 100 * lost.high <= lostFractionPercent && rms.high <= rmsAllowed;
  const outside =
    value - margin > fwhmGrowthPercent || 100 * lost.low > lostFractionPercent || rms.low > rmsAllowed;
  const verdict = within ? 'within' : outside ? 'outside' : 'too close to call';
  return { scene, error, growth, verdict };
}

/** Most of the lost frames are lost because the star fills its pixels. */
export function isSaturated({ error }: Standing): boolean {
  const lost = error.trials - error.located;
  return lost > 0 && 2 * (error.lostReasons.saturated ?? 0) > lost;
}

/** The term that spends most of the budget, against what is allowed, for people. */
export function standingText(rig: Rig, { error, growth, verdict }: Standing): string {
  const { fwhmGrowthPercent, lostFractionPercent, rmsErrorArcsec } = rig.budget;
  const lost = error.lostFraction.value;
  const terms = [
    {
      share: (100 * lost) / lostFractionPercent,
      text: `${percent(lost)} of frames without a position (allowed ${lostFractionPercent} %)`,
    },
  ];
  if (growth !== undefined)
    terms.push({
      share: growth.growthPercent.value / fwhmGrowthPercent,
      text: `stars grow by ${withError(growth.growthPercent)} % (allowed ${fwhmGrowthPercent} %)`,
    });
  if (rmsErrorArcsec !== undefined && error.rmsArcsec !== undefined)
    terms.push({
      share: error.rmsArcsec.value / rmsErrorArcsec,
      text: `the position is off by ${withError(error.rmsArcsec)} arcsec rms (allowed ${rmsErrorArcsec} arcsec)`,
    });
  const largest = terms.reduce((a, b) => (b.share >= a.share ? b : a));
  return largest.text + (verdict === 'too close to call' ? ', too close to call' : '');
}
