/** How much of the rig's budget a star's error spends, and which of its terms spends most. */

import type { LoopChange } from '../motion/guide-loop.ts';
import type { Rig } from '../rig/rig-schema.ts';
import type { PositionError } from '../trials/position-error.ts';
import { type Estimate, scaled, sigmas95 } from '../trials/statistics.ts';
import { type GuideError, guideErrorOf, imageGrowth, noiseOf } from './budget.ts';
import type { OffsetDrift } from './offset-drift.ts';

/** The terms of a budget. */
export type BudgetTerm =
  /** noise: the picture's stars grow more than the budget allows */
  | 'fwhm-growth'
  /** detection: more frames without a position than the budget allows */
  | 'lost-fraction'
  /** noise: the noise-equivalent error alone is more than the budget allows */
  | 'rms-error'
  /** the star has outgrown the window: it is lost, or the method no longer follows it */
  | 'window';

export interface BudgetShare {
  /** 1 = the whole budget. */
  readonly share: number;
  readonly shareError: number;
  readonly spentBy: BudgetTerm;
}

/** Below this response a star that does not fit into the window is badly followed. */
const followedInFull = 0.9;

/** What a share is reckoned from: a `PositionError`, or the same of some of its trials. */
export interface Measured {
  readonly lostFraction: number;
  readonly lostError: number;
  /** Undefined where the method does not follow the star. */
  readonly guide: GuideError | undefined;
  /** The window does not hold the star. */
  readonly outgrown: boolean;
  /** Most of the lost frames are lost to the window. */
  readonly lostToWindow: boolean;
}

export function measuredOf(error: PositionError<string>, arcsecPerPx: number, drift?: OffsetDrift): Measured {
  const { value, low, high } = error.lostFraction;
  return {
    lostFraction: value,
    lostError: (high - low) / (2 * sigmas95),
    guide: guideErrorOf(error, arcsecPerPx, drift),
    outgrown: error.windowPx < error.windowToHoldPx,
    lostToWindow: 2 * (error.lostReasons['outgrew-window'] ?? 0) > error.trials - error.located,
  };
}

/** The largest share among the terms. */
export function budgetShare(rig: Rig, measured: Measured, loop: LoopChange = {}): BudgetShare {
  const { fwhmGrowthPercent, lostFractionPercent, rmsErrorArcsec } = rig.budget;
  const { stars = 1 } = loop;
  const { guide, outgrown, lostToWindow } = measured;
  // Of several stars averaged, a frame is lost only when every star is.
  const lostFraction = measured.lostFraction ** stars;
  const lostError = stars * measured.lostFraction ** (stars - 1) * measured.lostError;
  const growth = guide && imageGrowth(rig, guide, loop)?.growthPercent;
  // A method that does not follow the star, or a loop that is unstable, loses every frame.
  if (guide === undefined || growth === undefined)
    return {
      share: 100 / lostFractionPercent,
      shareError: 0,
      spentBy: outgrown ? 'window' : 'lost-fraction',
    };
  const isFollowed = Math.min(guide.x.response, guide.y.response) >= followedInFull;
  const noise = (term: BudgetTerm): BudgetTerm => (outgrown && !isFollowed ? 'window' : term);
  const shares = [
    shareOf(
      { value: lostFraction, standardError: lostError },
      lostFractionPercent / 100,
      lostToWindow && outgrown ? 'window' : 'lost-fraction',
    ),
    shareOf(growth, fwhmGrowthPercent, noise('fwhm-growth')),
  ];
  if (rmsErrorArcsec !== undefined)
    shares.push(shareOf(noiseOf(guide), rmsErrorArcsec * Math.sqrt(stars), noise('rms-error')));
  return shares.reduce((a, b) => (b.share > a.share ? b : a));
}

function shareOf(spent: Estimate, allowed: number, spentBy: BudgetTerm): BudgetShare {
  const { value, standardError } = scaled(spent, 1 / allowed);
  return { share: value, shareError: standardError, spentBy };
}
