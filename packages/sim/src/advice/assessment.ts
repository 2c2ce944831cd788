/** How the guide star does at one setting, against the budget. */

import { type GuideError, guideErrorOf, type ImageGrowth, imageGrowth, noiseOf } from '../budget/budget.ts';
import { methodDriftArcsec, type OffsetDrift } from '../budget/offset-drift.ts';
import type { LoopChange } from '../motion/guide-loop.ts';
import { decisionText, percent } from '../number-text.ts';
import type { EstimatorName, Rig } from '../rig/rig-schema.ts';
import { describeScene, type SceneDescription } from '../sweep/sweep-cell.ts';
import { type EstimatorSetting, settingOf } from '../trials/estimators.ts';
import { measureUntil, type TrialOptions } from '../trials/measure-error.ts';
import type { PositionError } from '../trials/position-error.ts';
import { buildScene, type SceneSetting } from '../trials/scene.ts';
import { type Interval, intervalOf, sigmas95 } from '../trials/statistics.ts';

/** How the guide star does at one focus shift with one way of measuring. */
export interface Assessment {
  /** The star as the camera is expected to see it. */
  readonly scene: SceneDescription;
  /** Error of its position, by simulation. */
  readonly error: PositionError;
  /**
   * Absent when no trial gave a position, when the method does not follow the star, or when the loop is
   * unstable.
   */
  readonly growth?: ImageGrowth;
  /** Whether growth and lost fraction lie within the budget, at 95 % confidence. */
  readonly verdict: 'within' | 'outside' | 'too close to call';
}

export const defaultTrials = 1024;

/**
 * An assessment too close to call with all trials is repeated with four times as many, this many times at
 * most.
 */
const closerLooks = 2;

/**
 * `trials`: an assessment whose verdict is certain at 95 % confidence takes fewer, 256 at least; unless
 * `relativePrecision` asks for more.
 */
export interface AssessmentOptions extends TrialOptions {
  /** How often an assessment too close to call is repeated with four times the trials. Default 2. */
  readonly looks?: number;
  /** What differs from the rig's loop. The exposure comes from the setting. */
  readonly loop?: LoopChange;
}

/** In steps of a few trials. */
export function* assess(
  rig: Rig,
  setting: SceneSetting,
  estimator: EstimatorName | EstimatorSetting,
  { looks = closerLooks, loop = {}, trials = defaultTrials, ...options }: AssessmentOptions,
): Generator<void, Assessment> {
  const scene = buildScene(rig, setting);
  const description = describeScene(scene);
  const drift = methodDriftArcsec(rig, setting, settingOf(estimator));
  const judged = (error: PositionError) => judge(rig, description, error, loop, drift);
  const isEnough = (error: PositionError, isPrecise: boolean) =>
    (isPrecise || error.trials >= trials) && judged(error).verdict !== 'too close to call';
  return judged(yield* measureUntil(scene, { ...options, estimator }, trials * 4 ** looks, isEnough));
}

/** Lost frames of several stars averaged: a frame is lost only when every star is. */
function lostOf({ lostFraction: { value, low, high } }: PositionError, stars: number): Interval {
  return { value: value ** stars, low: low ** stars, high: high ** stars };
}

/** An error against the budget. */
export function judge(
  rig: Rig,
  scene: SceneDescription,
  error: PositionError,
  loop: LoopChange = {},
  drift?: OffsetDrift,
): Assessment {
  const guide = guideErrorOf(error, scene.arcsecPerPx, drift);
  const growth = guide && imageGrowth(rig, guide, { exposureS: scene.exposureS, ...loop });
  if (guide === undefined || growth === undefined) return { scene, error, verdict: 'outside' };
  const { value, standardError } = growth.growthPercent;
  const { fwhmGrowthPercent, lostFractionPercent, rmsErrorArcsec: noiseAllowed = Infinity } = rig.budget;
  const { stars = 1 } = loop;
  const margin = sigmas95 * standardError;
  const lost = lostOf(error, stars);
  const noise = intervalOf(noiseOf(guide));
  const isWithin =
    value + margin <= fwhmGrowthPercent &&
    100 * lost.high <= lostFractionPercent &&
    noise.high <= noiseAllowed * Math.sqrt(stars);
  const isOutside =
    value - margin > fwhmGrowthPercent ||
    100 * lost.low > lostFractionPercent ||
    noise.low > noiseAllowed * Math.sqrt(stars);
  const verdict = isWithin ? 'within' : isOutside ? 'outside' : 'too close to call';
  return { scene, error, growth, verdict };
}

/** Most frames have a saturated pixel. */
export function isSaturated({ error }: Assessment): boolean {
  return error.saturatedFraction.value > 0.5;
}

/** The term that spends most of the budget, against what is allowed, for people. */
export function assessmentText(rig: Rig, { scene, error, growth, verdict }: Assessment): string {
  const { fwhmGrowthPercent, lostFractionPercent, rmsErrorArcsec } = rig.budget;
  const lost = error.lostFraction.value;
  const outgrown = (error.lostReasons['outgrew-window'] ?? 0) * 2 > error.trials - error.located;
  const window = `the ring outgrew the window of ${error.windowPx} px: ${error.windowToHoldPx} px would hold it`;
  if (growth === undefined && error.located > 1)
    return error.followsStar
      ? 'the loop is unstable: gain times response is 2 or more'
      : `the method does not follow the star${error.windowPx < error.windowToHoldPx ? ` (${window})` : ''}`;
  const terms = [
    {
      share: (100 * lost) / lostFractionPercent,
      text: `${percent(lost)} of frames without a position (allowed ${lostFractionPercent} %)${lost > 0 && outgrown ? `: ${window}` : ''}`,
    },
  ];
  if (growth !== undefined)
    terms.push({
      share: growth.growthPercent.value / fwhmGrowthPercent,
      text: `stars grow by ${decisionText(growth.growthPercent, fwhmGrowthPercent)} % (allowed ${fwhmGrowthPercent} %)`,
    });
  const guide: GuideError | undefined = guideErrorOf(error, scene.arcsecPerPx);
  if (rmsErrorArcsec !== undefined && guide !== undefined) {
    const noise = noiseOf(guide);
    terms.push({
      share: noise.value / rmsErrorArcsec,
      text: `the noise-equivalent error is ${decisionText(noise, rmsErrorArcsec)} arcsec (allowed ${rmsErrorArcsec} arcsec)`,
    });
  }
  const largest = terms.reduce((a, b) => (b.share >= a.share ? b : a));
  return largest.text + (verdict === 'too close to call' ? ', too close to call' : '');
}
