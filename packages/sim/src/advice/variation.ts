/**
 * What can be changed about a guide star that is outside the budget, one thing at a time, and what each
 * change costs.
 */
import { exp } from '@holdfast/psf/numerics';
import type { LoopChange } from '../motion/guide-loop.ts';
import { significant } from '../number-text.ts';
import type { Rig } from '../rig/rig-schema.ts';
import { type EstimatorSetting, estimatorLabels, methodOf } from '../trials/estimators.ts';
import type { SceneSetting } from '../trials/scene.ts';
import type { Assessment } from './assessment.ts';

/**
 * What can be changed, cheapest first: settings, then the gain that answers to everything, binning that costs
 * resolution, the exposure that changes what the loop follows, and other stars, which must be there (common
 * practice, no source).
 */
export const trimKinds = [
  'method',
  'threshold',
  'window',
  'gain',
  'binning',
  'exposure',
  'several-stars',
  'brighter-star',
] as const;
/** What can be changed cheaply. */
export type TrimKind = (typeof trimKinds)[number];

/** How far the search goes. */
export interface TrimReach {
  /** Default 4. */
  readonly mostStars?: number;
  /** Default 1. */
  readonly mostMagnitudesBrighter?: number;
}

/** A star, how it is measured and what the loop does with it. */
export interface Candidate {
  readonly setting: SceneSetting;
  readonly estimator: EstimatorSetting;
  readonly loop: LoopChange;
}

/** One thing changed. */
export interface Variation {
  readonly kind: TrimKind;
  readonly change: string;
  /** What it costs, for people. */
  readonly cost: string;
  /** What it costs, to compare: the prices of a combination add up. */
  readonly price: number;
  readonly apply: (candidate: Candidate) => Candidate;
}

/** A setting costs 1; the rest by how much harder it is to come by (common practice, no source). */
const prices: Record<TrimKind, number> = {
  method: 1,
  threshold: 1,
  window: 1,
  gain: 1.5,
  binning: 2,
  exposure: 3,
  'several-stars': 5,
  'brighter-star': 6,
};

const thresholds = [1, 2, 3, 4];
const gainFactors = [0.5, 0.25];
const exposureFactors = [2, 4, 0.5];
const starNumbers = [2, 4, 8, 16, 32, 64];
const magnitudesBrighter = [0.5, 1, 2, 3, 4, 5];

/** Every single change worth a try. */
export function variationsOf(
  rig: Rig,
  { scene, error }: Assessment,
  { mostStars = 4, mostMagnitudesBrighter = 1 }: TrimReach,
): Variation[] {
  const { estimator, available, proportionalGain, thresholdSigma } = rig.tracking;
  const list: Variation[] = [];
  const add = (
    kind: TrimKind,
    size: number,
    change: string,
    cost: string,
    apply: (candidate: Candidate) => Partial<Candidate>,
  ): void => {
    list.push({
      kind,
      change,
      cost,
      price: prices[kind] * size,
      apply: (candidate) => ({ ...candidate, ...apply(candidate) }),
    });
  };
  for (const name of available)
    if (name !== estimator)
      add('method', 1, `measure by ${estimatorLabels[name]}`, 'a setting', () => ({
        estimator: methodOf(rig, name),
      }));
  if ([estimator, ...available].includes('thresholdedCenterOfMass'))
    for (const sigma of thresholds)
      if (sigma !== thresholdSigma)
        add('threshold', 1, `threshold at ${sigma} sigma`, 'a setting', ({ estimator: own }) => ({
          estimator: { ...own, thresholdSigma: sigma },
        }));
  const toHold = error.windowToHoldPx;
  for (const windowPx of [toHold, 2 * Math.round(0.35 * toHold) + 1])
    if (windowPx !== error.windowPx && windowPx >= 5)
      add('window', 1, `window of ${windowPx} px`, 'a setting', ({ setting }) => ({
        setting: { ...setting, windowPx },
      }));
  for (const factor of gainFactors) {
    const gain = proportionalGain * factor;
    add('gain', 1, `gain of ${significant(gain, 2)}`, 'the mount is corrected more slowly', ({ loop }) => ({
      loop: { ...loop, proportionalGain: gain },
    }));
  }
  const { binning, exposureS } = scene;
  for (const more of [2])
    if (binning * more <= 8)
      add('binning', 1, `bin ${binning * more} x ${binning * more}`, 'coarser pixels', ({ setting }) => ({
        setting: {
          ...setting,
          binning: binning * more,
          // The same piece of sky on coarser pixels.
          ...(setting.windowPx === undefined
            ? {}
            : { windowPx: Math.max(5, Math.round(setting.windowPx / more)) }),
        },
      }));
  for (const factor of exposureFactors)
    add(
      'exposure',
      factor > 1 ? factor / 2 : 0.5 / factor,
      `expose ${significant(exposureS * factor, 2)} s instead of ${significant(exposureS, 2)} s`,
      factor > 1 ? 'the mount is corrected less often' : "frames see more of the air's motion",
      ({ setting }) => ({ setting: { ...setting, exposureS: exposureS * factor } }),
    );
  for (const stars of starNumbers)
    if (stars <= mostStars)
      add(
        'several-stars',
        stars / 2,
        `average ${stars} stars as bright as this one`,
        `needs ${stars - 1} more such ${stars === 2 ? 'star' : 'stars'} in the guide field`,
        ({ loop }) => ({ loop: { ...loop, stars } }),
      );
  for (const magnitudes of magnitudesBrighter)
    if (magnitudes <= mostMagnitudesBrighter)
      add(
        'brighter-star',
        1 + magnitudes,
        `guide on a star ${magnitudes} mag brighter`,
        'needs such a star in the guide field',
        ({ setting }) => ({ setting: { ...setting, fluxE: brighterFlux(rig, scene, magnitudes) } }),
      );
  return list;
}

/** Up to so many changes together. */
const mostTogether = 3;

/** All combinations of changes of different kinds, cheapest first. */
export function combinationsOf(variations: readonly Variation[]): Variation[][] {
  const all: Variation[][] = [];
  const extend = (chosen: Variation[], from: number): void => {
    if (chosen.length > 0) all.push(chosen);
    if (chosen.length === mostTogether) return;
    for (let i = from; i < variations.length; i++)
      if (!chosen.some(({ kind }) => kind === variations[i].kind)) extend([...chosen, variations[i]], i + 1);
  };
  extend([], 0);
  const price = (combination: readonly Variation[]) => combination.reduce((sum, each) => sum + each.price, 0);
  return all
    .map((combination) => ({ combination, price: price(combination) }))
    .sort((a, b) => a.price - b.price || a.combination.length - b.combination.length)
    .map(({ combination }) => combination);
}

/** Flux in an exposure of the rig's own length, as a setting gives it: 10^(0.4 dm) times as much. */
function brighterFlux(
  rig: Rig,
  { fluxE, exposureS }: { readonly fluxE: number; readonly exposureS: number },
  magnitudes: number,
): number {
  return ((fluxE * rig.guideCamera.exposureS) / exposureS) * exp(0.4 * Math.LN10 * magnitudes);
}
