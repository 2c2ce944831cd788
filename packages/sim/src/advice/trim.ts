/**
 * Changes that bring a guide star back into the budget, alone or together, in the order of what they cost.
 */
import { noiseWithinBudgetArcsec } from '../budget/budget.ts';
import { budgetShare, measuredOf } from '../budget/budget-share.ts';
import { type LongWorkOptions, pause, resultUntil } from '../long-work.ts';
import type { LoopChange } from '../motion/guide-loop.ts';
import type { Rig } from '../rig/rig-schema.ts';
import { analyticErrorPx } from '../trials/analytic-error.ts';
import { type EstimatorSetting, methodOf } from '../trials/estimators.ts';
import { leastError } from '../trials/least-error.ts';
import { measureInSteps, type TrialOptions } from '../trials/measure-error.ts';
import type { PositionError } from '../trials/position-error.ts';
import { buildScene, type Scene, type SceneSetting } from '../trials/scene.ts';
import { type Assessment, assess } from './assessment.ts';
import {
  type Candidate,
  combinationsOf,
  type TrimKind,
  type TrimReach,
  trimKinds,
  type Variation,
  variationsOf,
} from './variation.ts';

/** Changes that together bring the star back into the budget. */
export interface Trim {
  /** What is changed. */
  readonly kinds: readonly TrimKind[];
  /** The change in words, for people. */
  readonly change: string;
  /** What it costs, for people. */
  readonly cost: string;
  /** How the star does with it. */
  readonly assessment: Assessment;
  /** What differs from the rig's loop: gain, number of stars. */
  readonly loop: LoopChange;
}

/** What the search came to. */
export interface TrimSearch {
  /** The cheapest combination that works; undefined when none does. */
  readonly trim: Trim | undefined;
  /** Combinations that were looked at. */
  readonly tried: number;
}

type SearchOptions = TrialOptions & LongWorkOptions & TrimReach;

/** The cheapest change or combination of up to three changes that brings the star back into the budget. */
export async function cheapestTrim(
  rig: Rig,
  setting: SceneSetting,
  now: Assessment,
  { mostStars, mostMagnitudesBrighter, ...options }: SearchOptions,
): Promise<TrimSearch> {
  const reach = reachOf(mostStars, mostMagnitudesBrighter);
  const combinations = combinationsOf(variationsOf(rig, now, reach));
  const trial = prepareTrial(rig, setting, options);
  for (const [i, combination] of combinations.entries()) {
    if (i % 16 === 0) await pause(options.signal);
    const trim = await resultUntil(trial(combination), options.signal);
    if (trim !== undefined) return { trim, tried: i + 1 };
  }
  return { trim: undefined, tried: combinations.length };
}

/** The smallest change of every kind that works alone, cheapest kind first. */
export async function smallestTrims(
  rig: Rig,
  setting: SceneSetting,
  now: Assessment,
  { mostStars, mostMagnitudesBrighter, ...options }: SearchOptions,
): Promise<Trim[]> {
  const variations = variationsOf(rig, now, reachOf(mostStars, mostMagnitudesBrighter));
  const trial = prepareTrial(rig, setting, options);
  const found: Trim[] = [];
  for (const kind of trimKinds)
    for (const variation of variations.filter((each) => each.kind === kind)) {
      await pause(options.signal);
      const trim = await resultUntil(trial([variation]), options.signal);
      if (trim === undefined) continue;
      found.push(trim);
      break;
    }
  return found;
}

const reachOf = (mostStars: number | undefined, mostMagnitudesBrighter: number | undefined): TrimReach => ({
  ...(mostStars === undefined ? {} : { mostStars }),
  ...(mostMagnitudesBrighter === undefined ? {} : { mostMagnitudesBrighter }),
});

/** Trials of a first look that sorts out what is hopeless. */
const scoutTrials = 64;

/**
 * A formula that knows nothing of lost frames and of noise beyond the threshold may be off by this factor.
 */
const formulaSlack = 1.5;

/** Share of the budget beyond which a first look rules out: its own standard error is some 15 %. */
const scoutSlack = 1.2;

/** A scene that combinations lead to, and what is known of it. */
interface Place {
  readonly scene: Scene;
  readonly boundArcsec: number;
  /** By the way of measuring: noise-equivalent error by formula, px, and a first look at few frames. */
  readonly formulas: Map<string, number>;
  readonly looks: Map<string, PositionError>;
}

function known<Value>(values: Map<string, Value>, key: string, find: () => Value): Value {
  let value = values.get(key);
  if (value === undefined) {
    value = find();
    values.set(key, value);
  }
  return value;
}

/**
 * Judges combinations: by the least possible error first, then by formula, then by a first look at few
 * frames, the same for all combinations of one scene, and what is left with all trials.
 */
function prepareTrial(rig: Rig, setting: SceneSetting, options: TrialOptions) {
  const own: Candidate = { setting, estimator: methodOf(rig, rig.tracking.estimator), loop: {} };
  const scenes = new Map<string, Place>();
  const placeOf = (changed: SceneSetting) => {
    const key = JSON.stringify(changed);
    let place = scenes.get(key);
    if (place === undefined) {
      const scene = buildScene(rig, changed);
      place = {
        scene,
        boundArcsec: leastError(scene) * scene.arcsecPerPx,
        formulas: new Map(),
        looks: new Map(),
      };
      scenes.set(key, place);
    }
    return place;
  };
  const isHopeless = function* ({ setting: changed, estimator, loop }: Candidate): Generator<void, boolean> {
    const { scene, boundArcsec, formulas, looks } = placeOf(changed);
    const there = { exposureS: scene.exposureS, ...loop };
    const allowedArcsec = noiseWithinBudgetArcsec(rig, there);
    if (boundArcsec > allowedArcsec) return true;
    const key = JSON.stringify(estimator);
    const formulaPx = known(formulas, key, () => analyticErrorPx(scene, estimator) ?? Infinity);
    if (formulaPx * scene.arcsecPerPx > formulaSlack * allowedArcsec) return true;
    const look = { estimator, seed: options.seed, trials: scoutTrials };
    const error = looks.get(key) ?? (yield* measureInSteps(scene, look));
    looks.set(key, error);
    return budgetShare(rig, measuredOf(error, scene.arcsecPerPx), there).share > scoutSlack;
  };
  return function* (combination: readonly Variation[]): Generator<void, Trim | undefined> {
    const candidate = combination.reduce((so, { apply }) => apply(so), own);
    if (isUseless(combination, candidate.estimator) || (yield* isHopeless(candidate))) return undefined;
    const { loop } = candidate;
    const assessment = yield* assess(rig, candidate.setting, candidate.estimator, {
      ...options,
      loop,
      looks: 0,
    });
    if (assessment.verdict !== 'within') return undefined;
    const list = (part: (each: Variation) => string) => [...new Set(combination.map(part))].join(' and ');
    return {
      kinds: combination.map(({ kind }) => kind),
      change: list(({ change }) => change),
      cost: list(({ cost }) => cost),
      assessment,
      loop,
    };
  };
}

/** A threshold changes nothing for a method that has none. */
function isUseless(combination: readonly Variation[], { estimator }: EstimatorSetting): boolean {
  return estimator !== 'thresholdedCenterOfMass' && combination.some(({ kind }) => kind === 'threshold');
}
