/**
 * Everything that is worth knowing about a night with a rig: the advice, and what takes longer to find out.
 */

import { requireNames } from '@holdfast/psf/numerics';
import type { BestGuideFocus, GuideFocusSetting } from '../focus/best-guide-focus.ts';
import { type LongWorkOptions, pause } from '../long-work.ts';
import { type GuideStarOdds, type GuideStarPlace, guideStarOdds } from '../odds/guide-star-odds.ts';
import type { PickoffClearance } from '../pickoff/pickoff.ts';
import type { Rig } from '../rig/rig-schema.ts';
import { type AdviseOptions, adviseNames, adviseRefocus, type CompleteAdvice } from './advice.ts';
import { type FocusRunEffect, focusRunEffect } from './focus-run-effect.ts';
import { smallestTrims, type Trim } from './trim.ts';

/** What would bring a filter back into the budget, the smallest change of every kind, cheapest kind first. */
export interface FilterRemedies {
  /** Name of the filter. */
  readonly filter: string;
  /** Cheap changes that bring it back into the budget. */
  readonly trims: readonly Trim[];
}

/** The advice with all that takes longer to compute. */
export interface NightAdvice extends CompleteAdvice {
  /** One entry for each filter that is not kept as it is. */
  readonly remedies: readonly FilterRemedies[];
  /**
   * Odds of a guide star with the worst filter at the best setting, when the rig says where the picture lies.
   */
  readonly guideStarOdds?: GuideStarOdds;
  /** What a focus run does, when the rig's focuser names one. */
  readonly focusRun?: FocusRunEffect;
}

/** Seed and precision of an advice, and what of it to leave out. */
export interface AdviseNightOptions extends AdviseOptions {
  /** Simulated runs of guiding through a focus run. Default 8. */
  readonly runs?: number;
}

/** How far other stars are looked for: beyond these the filter is hopeless. */
const reach = { mostStars: 64, mostMagnitudesBrighter: 5 };

/**
 * The advice of `adviseRefocus`, with every remedy for the filters that are not kept, the odds of a guide
 * star and the effect of a focus run: half a minute of work instead of seconds.
 *
 * ```ts
 * const night = await adviseNight(rig, { seed: 1 })
 * console.log(night.bestGuideFocus.settingUm, night.guideStarOdds?.chances[0].atLeastOne)
 * ```
 * @throws the signal's reason when canceled
 */
export async function adviseNight(rig: Rig, nightOptions: AdviseNightOptions): Promise<NightAdvice> {
  const { runs, onProgress, ...options } = requireNames('options', nightOptions, adviseNames, 'runs');
  const long: LongWorkOptions = {
    ...(options.signal ? { signal: options.signal } : {}),
    ...(onProgress ? { onProgress } : {}),
  };
  const advice = await adviseRefocus(rig, { ...options, ...long });
  const remedies: FilterRemedies[] = [];
  const others = advice.filters.filter(({ outcome }) => outcome !== 'keep');
  for (const { filter, focusShiftUm, assessment } of others) {
    const trims = await smallestTrims(rig, { focusShiftUm }, assessment, { ...options, ...reach });
    remedies.push({ filter, trims });
    onProgress?.({ task: `remedies for ${filter}`, done: remedies.length, total: others.length });
  }
  await pause(options.signal);
  const odds = oddsOf(rig, advice, options.seed);
  const focusRun = await focusRunEffect(rig, {
    ...long,
    seed: options.seed,
    ...(runs === undefined ? {} : { runs }),
  });
  return {
    ...advice,
    remedies,
    ...(odds ? { guideStarOdds: odds } : {}),
    ...(focusRun ? { focusRun } : {}),
  };
}

function oddsOf(
  rig: Rig,
  { bestGuideFocus, pickoff }: CompleteAdvice,
  seed: string | number,
): GuideStarOdds | undefined {
  const { galacticLatitudeDeg, galacticLongitudeDeg } = rig;
  if (galacticLatitudeDeg === undefined) return undefined;
  return guideStarOdds(rig, {
    seed,
    focusShiftUm: farthestShift(bestGuideFocus),
    galacticLatitudeDeg,
    ...(galacticLongitudeDeg === undefined ? {} : { galacticLongitudeDeg }),
    ...(pickoff ? fieldOf(rig, pickoff) : {}),
  });
}

/** The guide field is what the mirror reflects: as wide and as high as the mirror, around its star. */
function fieldOf(rig: Rig, { star }: PickoffClearance): Pick<GuideStarPlace, 'field' | 'offAxisMm'> {
  if (rig.pickoff === undefined) return {};
  const { widthMm, depthMm } = rig.pickoff.mirror;
  const field = { widthMm, heightMm: depthMm };
  return star.offAxisMm >= depthMm / 2 ? { field, offAxisMm: star.offAxisMm } : { field };
}

/** Focus shift of the worst filter at the best setting of the guide camera. */
function farthestShift({ partial, ...all }: BestGuideFocus): number {
  const setting: GuideFocusSetting = partial ?? all;
  const worst = setting.filters.find(({ filter }) => filter === setting.worstFilter) ?? setting.filters[0];
  return Math.abs(worst.lowUm) > Math.abs(worst.highUm) ? worst.lowUm : worst.highUm;
}
