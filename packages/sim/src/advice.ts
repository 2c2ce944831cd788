/** Keep, trim or refocus: what to do about the guide camera's focus at each filter. */
import { type ImageGrowth, imageGrowth } from './budget.ts';
import type { PositionError } from './error-tally.ts';
import { estimatorLabels } from './estimators.ts';
import { type FocusLimit, focusLimit } from './focus-limit.ts';
import { type LongWorkOptions, pause } from './long-work.ts';
import { measureError, type TrialOptions } from './measure-error.ts';
import { percent, significant, withError } from './number-text.ts';
import { type EstimatorName, estimatorNames, type Rig } from './rig-schema.ts';
import { buildScene, type Scene, type SceneSetting } from './scene.ts';
import { intervalOf, sigmas95 } from './statistics.ts';
import { describeScene, type SceneDescription } from './sweep-cell.ts';

/**
 * - `keep`: within the budget as it is;
 * - `trim`: within the budget only with the named change;
 * - `refocus`: outside the budget whatever else is changed.
 */
export type Outcome = 'keep' | 'trim' | 'refocus';

/** How the guide star does at one focus shift with one way of measuring. */
export interface Standing {
  readonly scene: SceneDescription;
  readonly error: PositionError;
  /** Absent when no trial gave a position. */
  readonly growth?: ImageGrowth;
  /** Whether growth and lost fraction lie within the budget, at 95 % confidence. */
  readonly verdict: 'within' | 'outside' | 'too close to call';
}

/** A cheap change that brings the star back into the budget. */
export interface Trim {
  readonly change: string;
  readonly standing: Standing;
}

/** What to do about one star at one focus shift. */
export interface StarAdvice {
  /** Focus shift at the guide sensor, um. */
  readonly focusShiftUm: number;
  readonly standing: Standing;
  readonly outcome: Outcome;
  readonly trim?: Trim;
  readonly reason: string;
}

export interface FilterAdvice extends StarAdvice {
  readonly filter: string;
}

export interface RefocusAdvice {
  readonly rig: string;
  readonly estimator: EstimatorName;
  readonly seed: string | number;
  readonly trials: number;
  readonly inFocus: Standing;
  readonly filters: readonly FilterAdvice[];
  readonly limit: FocusLimit;
  /** What the numbers do not know of, for people. */
  readonly notModelled: readonly string[];
}

export interface AdviseOptions extends TrialOptions, LongWorkOptions {}

const defaultTrials = 1024;

/** Kept short on purpose: each line is something that can turn an answer around. */
const notModelled = [
  'diffraction within the ring: the ring is drawn by geometric optics, coarse within about one wave of focus',
  'coma, astigmatism and field curvature of the guide star, and a beam that the pick-off clips',
  'faint neighbour stars, hot pixels and clouds',
];

/**
 * Keep, trim or refocus for each filter of a rig, against its budget.
 *
 * ```ts
 * const advice = await adviseRefocus(parseRig(text), { seed: 1 })
 * for (const { filter, outcome, reason } of advice.filters) console.log(filter, outcome, reason)
 * ```
 * @throws the signal's reason when cancelled
 */
export async function adviseRefocus(
  rig: Rig,
  { seed, trials = defaultTrials, relativePrecision, onProgress, signal }: AdviseOptions,
): Promise<RefocusAdvice> {
  const { estimator } = rig.tracking;
  const options = { seed, trials, ...(relativePrecision === undefined ? {} : { relativePrecision }) };
  const total = rig.filters.length + 2;
  let done = 0;
  const report = (task: string) => onProgress?.({ task, done: ++done, total });

  await pause(signal);
  const inFocus = standingOf(rig, { focusShiftUm: 0 }, estimator, options);
  report('in focus');
  const filters: FilterAdvice[] = [];
  for (const { name, focusShiftUm } of rig.filters) {
    const setting = { focusShiftUm: focusShiftUm + rig.guideFocusShiftUm };
    filters.push({ filter: name, ...(await adviseOn(rig, setting, inFocus, options, signal)) });
    report(`filter ${name}`);
  }
  const limit = await focusLimit(rig, { seed, trials, ...(signal ? { signal } : {}) });
  report('focus limit');
  return { rig: rig.name, estimator, seed, trials, inFocus, filters, limit, notModelled };
}

/**
 * Keep, trim or refocus for one star: the rig's own at a given focus shift, or one that was measured on a frame (its
 * `fluxE` and implied shift in the setting).
 *
 * @throws the signal's reason when cancelled
 */
export async function adviseStar(
  rig: Rig,
  setting: SceneSetting,
  { signal, onProgress, ...options }: AdviseOptions,
): Promise<StarAdvice> {
  await pause(signal);
  const inFocus = standingOf(rig, { ...setting, focusShiftUm: 0 }, rig.tracking.estimator, options);
  onProgress?.({ task: 'in focus', done: 1, total: 2 });
  const advice = await adviseOn(rig, setting, inFocus, options, signal);
  onProgress?.({ task: 'this star', done: 2, total: 2 });
  return advice;
}

async function adviseOn(
  rig: Rig,
  setting: SceneSetting,
  inFocus: Standing,
  options: TrialOptions,
  signal: AbortSignal | undefined,
): Promise<StarAdvice> {
  await pause(signal);
  const standing = standingOf(rig, setting, rig.tracking.estimator, options);
  const trim = standing.verdict === 'within' ? undefined : await cheapestTrim(rig, setting, options, signal);
  const outcome = standing.verdict === 'within' ? 'keep' : trim ? 'trim' : 'refocus';
  return {
    focusShiftUm: setting.focusShiftUm,
    standing,
    outcome,
    ...(trim ? { trim } : {}),
    reason: reasonFor(rig, standing, outcome, inFocus, trim),
  };
}

/** The first of the remedies that brings the star back into the budget. */
async function cheapestTrim(
  rig: Rig,
  setting: SceneSetting,
  options: TrialOptions,
  signal: AbortSignal | undefined,
): Promise<Trim | undefined> {
  for (const { change, setting: changed, estimator } of remediesFor(rig)) {
    await pause(signal);
    const standing = standingOf(rig, { ...setting, ...changed }, estimator, options);
    if (standing.verdict === 'within') return { change, standing };
  }
  return undefined;
}

/** A standing too close to call is tried again with four times the trials, this many times at most. */
const closerLooks = 2;

function standingOf(
  rig: Rig,
  setting: SceneSetting,
  estimator: EstimatorName,
  options: TrialOptions,
): Standing {
  const scene = buildScene(rig, setting);
  let standing = judge(rig, scene, measureError(scene, { ...options, estimator }));
  for (let look = 1; look <= closerLooks && standing.verdict === 'too close to call'; look++) {
    const trials = (options.trials ?? defaultTrials) * 4 ** look;
    standing = judge(rig, scene, measureError(scene, { ...options, estimator, trials }));
  }
  return standing;
}

function judge(rig: Rig, scene: Scene, error: PositionError): Standing {
  const description = describeScene(scene);
  if (error.rmsArcsec === undefined) return { scene: description, error, verdict: 'outside' };
  const growth = imageGrowth(rig, error.rmsArcsec);
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
  return { scene: description, error, growth, verdict };
}

interface Remedy {
  readonly change: string;
  readonly setting: Partial<SceneSetting>;
  readonly estimator: EstimatorName;
}

/** Cheap changes in the order of their cost: another way of measuring, then binning, then longer frames. */
function remediesFor(rig: Rig): Remedy[] {
  const { estimator } = rig.tracking;
  const { binning, exposureS } = rig.guideCamera;
  const others = estimatorNames
    .filter((name) => name !== estimator)
    .map((name) => ({ change: `measure by ${estimatorLabels[name]}`, setting: {}, estimator: name }));
  const bins =
    binning * 2 <= 8
      ? [{ change: `bin ${binning * 2} x ${binning * 2}`, setting: { binning: binning * 2 }, estimator }]
      : [];
  const longer = [2, 4].map((factor) => ({
    change: `expose ${significant(exposureS * factor, 2)} s instead of ${significant(exposureS, 2)} s`,
    setting: { exposureS: exposureS * factor },
    estimator,
  }));
  return [...others, ...bins, ...longer];
}

function reasonFor(
  rig: Rig,
  standing: Standing,
  outcome: Outcome,
  inFocus: Standing,
  trim: Trim | undefined,
): string {
  const state = stateOf(rig, standing);
  if (outcome === 'keep') return state;
  if (trim) return `${state}; ${trim.change}: ${stateOf(rig, trim.standing)}`;
  return inFocus.verdict === 'within'
    ? `${state}; in focus: ${stateOf(rig, inFocus)}`
    : `${state}; refocusing alone does not help (in focus: ${stateOf(rig, inFocus)}): choose a brighter star`;
}

/** The term that spends most of the budget, against what is allowed. */
function stateOf(rig: Rig, { error, growth, verdict }: Standing): string {
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
