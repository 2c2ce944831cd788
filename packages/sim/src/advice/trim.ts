/** Cheap changes that bring a guide star back into the budget, in the order of what they cost. */
import { thresholdedDefaults } from '@holdfast/centroid/internal';
import { exp } from '@holdfast/psf/numerics';
import { rmsWithinBudgetArcsec } from '../budget/budget.ts';
import { type LongWorkOptions, pause } from '../long-work.ts';
import { significant } from '../number-text.ts';
import { estimatorNames, type Rig } from '../rig/rig-schema.ts';
import { type EstimatorSetting, estimatorLabels } from '../trials/estimators.ts';
import type { TrialOptions } from '../trials/measure-error.ts';
import { buildScene, type SceneSetting } from '../trials/scene.ts';
import { errorOfSeveralStars } from '../trials/several-stars.ts';
import { isHopeless, isSaturated, judge, type Standing, standingOf } from './standing.ts';

/**
 * What can be changed, cheapest first: three settings that cost nothing, binning that costs resolution, longer frames that
 * cost speed of correction, and other stars, which must be there (common practice, no source).
 */
export const trimKinds = [
  'estimator',
  'threshold',
  'window',
  'binning',
  'exposure',
  'several-stars',
  'brighter-star',
] as const;
export type TrimKind = (typeof trimKinds)[number];

/** Kinds that change how the light is measured, and not the light. */
const measuringKinds: readonly TrimKind[] = ['estimator', 'threshold', 'window'];

/** Kinds that help a star which is too faint, and no other. */
const moreLight: readonly TrimKind[] = ['binning', 'several-stars', 'brighter-star'];

/** A change that brings the star back into the budget. */
export interface Trim {
  readonly kind: TrimKind;
  readonly change: string;
  /** What it costs, for people. */
  readonly cost: string;
  /** How the star does with it. */
  readonly standing: Standing;
  /** Stars whose positions are averaged, for `several-stars`. */
  readonly stars?: number;
  /** Magnitudes by which the other star is brighter, for `brighter-star`. */
  readonly magnitudesBrighter?: number;
}

/** How far the search goes. */
export interface TrimReach {
  /** Default 4. */
  readonly mostStars?: number;
  /** Default 1. */
  readonly mostMagnitudesBrighter?: number;
}

/** One change that is to be tried. */
interface Step extends Omit<Trim, 'standing'> {
  readonly setting: SceneSetting;
  readonly estimator: EstimatorSetting;
}

/**
 * The cheapest change that brings the star back into the budget: kinds in the order of `trimKinds`, within a kind the
 * smallest change first. One change at a time.
 *
 * @returns undefined when none does
 */
export async function cheapestTrim(
  rig: Rig,
  setting: SceneSetting,
  now: Standing,
  options: TrialOptions & LongWorkOptions & TrimReach,
): Promise<Trim | undefined> {
  for (const kind of trimKinds) {
    const trim = await smallestOfKind(rig, setting, now, kind, options);
    if (trim !== undefined) return trim;
  }
  return undefined;
}

/** The smallest change of every kind that works, cheapest kind first. */
export async function smallestTrims(
  rig: Rig,
  setting: SceneSetting,
  now: Standing,
  options: TrialOptions & LongWorkOptions & TrimReach,
): Promise<Trim[]> {
  const found: Trim[] = [];
  for (const kind of trimKinds) {
    const trim = await smallestOfKind(rig, setting, now, kind, options);
    if (trim !== undefined) found.push(trim);
  }
  return found;
}

async function smallestOfKind(
  rig: Rig,
  setting: SceneSetting,
  now: Standing,
  kind: TrimKind,
  {
    signal,
    onProgress: _,
    mostStars = 4,
    mostMagnitudesBrighter = 1,
    ...trials
  }: TrialOptions & LongWorkOptions & TrimReach,
): Promise<Trim | undefined> {
  // More light, summed or gathered, is no cure for a star that is too bright.
  if (isSaturated(now) && moreLight.includes(kind)) return undefined;
  if (kind === 'several-stars') return severalStars(rig, now, mostStars);
  // Another way of measuring the same light cannot go below the least possible error.
  const leastArcsec = now.error.boundPx * now.scene.arcsecPerPx;
  if (measuringKinds.includes(kind) && leastArcsec > rmsWithinBudgetArcsec(rig)) return undefined;
  for (const { setting: changed, estimator, ...trim } of stepsOf(
    rig,
    setting,
    now,
    kind,
    mostMagnitudesBrighter,
  )) {
    await pause(signal);
    // Few trials sort out what is hopeless; the rest is judged as carefully as everything else.
    if (isHopeless(rig, changed, estimator, trials)) continue;
    const standing = standingOf(rig, changed, estimator, { ...trials, looks: 1 });
    if (standing.verdict === 'within') return { ...trim, standing };
  }
  return undefined;
}

/** Positions are averaged by formula: the stars are as bright as this one and have noise of their own. */
function severalStars(rig: Rig, now: Standing, mostStars: number): Trim | undefined {
  for (let stars = 2; stars <= mostStars; stars++) {
    const standing = judge(rig, now.scene, errorOfSeveralStars(now.error, stars));
    if (standing.verdict === 'within')
      return {
        kind: 'several-stars',
        change: `average ${stars} stars as bright as this one`,
        cost: `needs ${stars - 1} more such ${stars === 2 ? 'star' : 'stars'} in the guide field`,
        standing,
        stars,
      };
  }
  return undefined;
}

/** Thresholds in sigmas of a pixel's noise, the nearest to the usual 2 first. */
const thresholds = [1.5, 3, 1, 4];
/** Apertures as parts of the radius that holds nearly all of the light. */
const windowParts = [0.85, 0.7, 0.55];
const longer = [1.5, 2, 3, 4];
/** For a star that saturates. */
const shorter = [0.7, 0.5, 0.3, 0.2, 0.1];
const magnitudeStep = 0.25;

function stepsOf(
  rig: Rig,
  setting: SceneSetting,
  now: Standing,
  kind: Exclude<TrimKind, 'several-stars'>,
  mostMagnitudesBrighter: number,
): Step[] {
  const { estimator } = rig.tracking;
  const own = { kind, setting, estimator: { estimator } };
  switch (kind) {
    case 'estimator':
      return estimatorNames
        .filter((name) => name !== estimator)
        .map((name) => ({
          ...own,
          change: `measure by ${estimatorLabels[name]}`,
          cost: 'a setting',
          estimator: { estimator: name },
        }));
    case 'threshold':
      return (estimator === 'thresholdedCenterOfMass' ? thresholds : []).map((thresholdSigma) => ({
        ...own,
        change: `threshold at ${thresholdSigma} instead of ${thresholdedDefaults.thresholdSigma} sigmas of a pixel`,
        cost: 'a setting',
        estimator: { estimator, thresholdSigma },
      }));
    case 'window':
      return windowParts.map((part) => {
        const radiusPx = part * buildScene(rig, setting).radiusPx;
        return {
          ...own,
          change: `measure within ${significant(radiusPx, 3)} px of the star`,
          cost: 'a setting',
          estimator: { estimator, radiusPx },
        };
      });
    case 'binning': {
      const { binning } = now.scene;
      return [2 * binning, 4 * binning]
        .filter((more) => more <= 8)
        .map((more) => ({
          ...own,
          change: `bin ${more} x ${more}`,
          cost: 'coarser pixels',
          setting: { ...setting, binning: more },
        }));
    }
    case 'exposure': {
      const { exposureS } = now.scene;
      const saturated = isSaturated(now);
      return (saturated ? shorter : longer).map((factor) => ({
        ...own,
        change: `expose ${significant(exposureS * factor, 2)} s instead of ${significant(exposureS, 2)} s`,
        cost: saturated
          ? "shorter frames see more of the air's motion, which is not counted here"
          : 'the mount is corrected less often, which is not counted here',
        setting: { ...setting, exposureS: exposureS * factor },
      }));
    }
    case 'brighter-star':
      return Array.from(
        { length: Math.floor(mostMagnitudesBrighter / magnitudeStep + 1e-9) },
        (_, i): Step => {
          const magnitudesBrighter = (i + 1) * magnitudeStep;
          return {
            ...own,
            change: `guide on a star ${magnitudesBrighter} mag brighter`,
            cost: 'needs such a star in the guide field',
            setting: { ...setting, fluxE: brighterFlux(rig, now, magnitudesBrighter) },
            magnitudesBrighter,
          };
        },
      );
  }
}

/** Flux in an exposure of the rig's own length, as a setting gives it: 10^(0.4 dm) times as much. */
function brighterFlux(rig: Rig, { scene }: Standing, magnitudes: number): number {
  const now = (scene.fluxE * rig.guideCamera.exposureS) / scene.exposureS;
  return now * exp(0.4 * Math.LN10 * magnitudes);
}
