/** Keep, trim or refocus: what to do about the guide camera's focus at each filter. */

import { requireNames } from '@holdfast/psf/numerics';
import { type BestGuideFocus, bestGuideFocusFrom } from '../focus/best-guide-focus.ts';
import { type FocusLimit, focusLimitFrom } from '../focus/focus-limit.ts';
import { prepareFocusPoints } from '../focus/focus-point.ts';
import { type LongWorkOptions, longWorkNames, pause, resultUntil } from '../long-work.ts';
import { type PickoffClearance, pickoffClearance } from '../pickoff/pickoff.ts';
import { dimmestFilter, rigInLeastLight, rigThrough } from '../rig/guide-light.ts';
import { pickoffOptionsOf } from '../rig/rig-pickoff.ts';
import type { EstimatorName, Rig } from '../rig/rig-schema.ts';
import { type ThermalDrift, thermalDrift } from '../rig/temperature.ts';
import { methodOf } from '../trials/estimators.ts';
import { type TrialOptions, trialNames } from '../trials/measure-error.ts';
import type { SceneSetting } from '../trials/scene.ts';
import { type Assessment, assess, assessmentText, defaultTrials, isSaturated } from './assessment.ts';
import { type BesideStar, besideStar } from './beside-star.ts';
import { type FilterChange, filterChanges } from './filter-change.ts';
import { notModeledFor } from './not-modeled.ts';
import { otherMethod } from './other-method.ts';
import type { FilterAdvice, StarAdvice } from './outcome.ts';
import { cheapestTrim, type TrimSearch } from './trim.ts';

/** What to do about the focus at each filter, and how much room there is. */
export interface RefocusAdvice {
  /** Name of the rig. */
  readonly rig: string;
  /** Estimator that measures the star. */
  readonly estimator: EstimatorName;
  /** Seed of the simulation. */
  readonly seed: string | number;
  /**
   * Simulated frames per setting, at most: a row whose verdict is certain takes fewer, as its own
   * `error.trials` says.
   */
  readonly trials: number;
  /** How the star does in focus. */
  readonly inFocus: Assessment;
  /** With the main camera refocused at each filter, and the night's drift undone by it. */
  readonly filters: readonly FilterAdvice[];
  /** How far out of focus the star stays usable. */
  readonly limit: FocusLimit;
  /** The filter of least light, whose limit that is; absent where the guide light passes no filter. */
  readonly limitFilter?: string;
  /** From every filter to every other; absent from a draft by formula alone, as is the next. */
  readonly changes?: readonly FilterChange[];
  /** The one setting of the guide camera that suits all filters best. */
  readonly bestGuideFocus?: BestGuideFocus;
  /** What the falling temperature does, when the rig names it. */
  readonly thermal?: ThermalDrift;
  /** Shadow and light of the pick-off, when the rig names it. */
  readonly pickoff?: PickoffClearance;
  /** What the numbers do not know of, for people. */
  readonly notModeled: readonly string[];
  /** What may stand beside the guide star in its window, as chances. */
  readonly beside?: BesideStar;
}

/** With nothing left out. */
export interface CompleteAdvice extends RefocusAdvice {
  /** From every filter to every other. */
  readonly changes: readonly FilterChange[];
  /** The one setting of the guide camera that suits all filters best. */
  readonly bestGuideFocus: BestGuideFocus;
}

/** Seed and precision of an advice, and how its work is watched. */
export interface AdviseOptions extends TrialOptions, LongWorkOptions {}

export const adviseNames = `${trialNames} ${longWorkNames}` as const;

/**
 * Keep, trim or refocus for each filter of a rig, against its budget; what each change of the filter does,
 * and the one setting of the guide camera that suits them all.
 *
 * ```ts
 * const advice = await adviseRefocus(parseRig(text), { seed: 1 })
 * for (const { filter, outcome, reason } of advice.filters) console.log(filter, outcome, reason)
 * ```
 * @throws the signal's reason when canceled
 */
export async function adviseRefocus(rig: Rig, adviseOptions: AdviseOptions): Promise<CompleteAdvice> {
  const {
    seed,
    trials = defaultTrials,
    relativePrecision,
    onProgress,
    signal,
  } = requireNames('options', adviseOptions, adviseNames);
  const { estimator } = rig.tracking;
  const options = { seed, trials, ...(relativePrecision === undefined ? {} : { relativePrecision }) };
  const long = signal ? { signal } : {};
  const total = rig.filters.length + 3;
  let done = 0;
  const report = (task: string) => onProgress?.({ task, done: ++done, total });

  await pause(signal);
  const assessed = (of: Rig) =>
    resultUntil(assess(of, { focusShiftUm: 0 }, methodOf(of, estimator), options), signal);
  const inFocus = await assessed(rig);
  report('in focus');
  const filters: FilterAdvice[] = [];
  for (const { name, focusShiftUm } of rig.filters) {
    const setting = { focusShiftUm: focusShiftUm + rig.guideFocusShiftUm };
    const through = rigThrough(rig, name);
    const focused = through === rig ? inFocus : await assessed(through);
    filters.push({ filter: name, ...(await adviseOn(through, setting, focused, { ...options, ...long })) });
    report(`filter ${name}`);
  }
  const points = prepareFocusPoints(rig, estimator, seed);
  const limitFilter = dimmestFilter(rig);
  const dimmest = rigInLeastLight(rig);
  const dimmestPoints = dimmest === rig ? points : prepareFocusPoints(dimmest, estimator, seed);
  const limit = await focusLimitFrom(dimmestPoints, dimmest, { seed, trials, ...long });
  report('focus limit');
  const best = await bestGuideFocusFrom(points, rig, { seed, trials: trials / 2, ...long });
  report('best guide focus');
  const thermal = thermalDrift(rig);
  const pickoff = pickoffOptionsOf(rig);
  return {
    rig: rig.name,
    estimator,
    seed,
    trials,
    inFocus,
    filters,
    limit,
    ...(limitFilter === undefined ? {} : { limitFilter }),
    changes: filterChanges(rig, filters, limit),
    bestGuideFocus: best,
    ...(thermal ? { thermal } : {}),
    ...(pickoff ? { pickoff: pickoffClearance(pickoff) } : {}),
    beside: besideStar(rig),
    notModeled: notModeledFor(rig),
  };
}

/**
 * Keep, trim or refocus for one star: the rig's own at a given focus shift, or one that was measured on a
 * frame (its `fluxE` and implied shift in the setting).
 *
 * @throws the signal's reason when canceled
 */
export async function adviseStar(
  rig: Rig,
  setting: SceneSetting,
  adviseOptions: AdviseOptions,
): Promise<StarAdvice> {
  const { signal, onProgress, ...options } = requireNames('options', adviseOptions, adviseNames);
  await pause(signal);
  const own = methodOf(rig, rig.tracking.estimator);
  const inFocus = await resultUntil(assess(rig, { ...setting, focusShiftUm: 0 }, own, options), signal);
  onProgress?.({ task: 'in focus', done: 1, total: 2 });
  const advice = await adviseOn(rig, setting, inFocus, { ...options, ...(signal ? { signal } : {}) });
  onProgress?.({ task: 'this star', done: 2, total: 2 });
  return advice;
}

async function adviseOn(
  rig: Rig,
  setting: SceneSetting,
  inFocus: Assessment,
  { signal, ...trials }: TrialOptions & LongWorkOptions,
): Promise<StarAdvice> {
  await pause(signal);
  const own = methodOf(rig, rig.tracking.estimator);
  const assessment = await resultUntil(assess(rig, setting, own, trials), signal);
  const search =
    assessment.verdict === 'within'
      ? undefined
      : await cheapestTrim(rig, setting, assessment, { ...trials, ...(signal ? { signal } : {}) });
  const trim = search?.trim;
  const outcome = search === undefined ? 'keep' : trim ? 'trim' : 'refocus';
  const other =
    outcome === 'refocus' ? await resultUntil(otherMethod(rig, setting, trials), signal) : undefined;
  return {
    focusShiftUm: setting.focusShiftUm,
    assessment,
    outcome,
    ...(trim ? { trim } : {}),
    ...(other ? { otherMethod: other } : {}),
    reason: reasonFor(rig, assessment, inFocus, search),
  };
}

function reasonFor(
  rig: Rig,
  assessment: Assessment,
  inFocus: Assessment,
  search: TrimSearch | undefined,
): string {
  const state = assessmentText(rig, assessment);
  if (search === undefined) return state;
  const { trim, tried } = search;
  if (trim) return `${state}; ${trim.change}: ${assessmentText(rig, trim.assessment)}`;
  const none = `none of the ${tried} combinations tried brings it back`;
  const focused = assessmentText(rig, inFocus);
  if (inFocus.verdict === 'within') return `${state}; ${none}; in focus: ${focused}`;
  const other = isSaturated(inFocus) ? 'expose for less, or choose a fainter star' : 'choose a brighter star';
  return `${state}; ${none}; refocusing alone does not help (in focus: ${focused}): ${other}`;
}
