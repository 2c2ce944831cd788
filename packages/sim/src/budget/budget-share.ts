/** How much of the rig's budget a star's error spends, and which of its terms spends most. */

import type { Rig } from '../rig/rig-schema.ts';
import type { PositionError } from '../trials/error-tally.ts';
import { scaled, sigmas95 } from '../trials/statistics.ts';
import { imageGrowth } from './budget.ts';

/** The terms of a budget. */
export type BudgetTerm =
  /** the picture's stars grow more than the budget allows */
  | 'fwhm-growth'
  /** more frames without a position than the budget allows */
  | 'lost-fraction'
  /** the position error alone is more than the budget allows */
  | 'rms-error';

export interface BudgetShare {
  /** 1 = the whole budget. */
  readonly share: number;
  readonly shareError: number;
  readonly spentBy: BudgetTerm;
  /** Most of the lost frames are lost to saturation, and they spend the budget. */
  readonly saturated: boolean;
}

/** The largest share among the terms. */
export function budgetShare(rig: Rig, error: PositionError): BudgetShare {
  const { fwhmGrowthPercent, lostFractionPercent, rmsErrorArcsec } = rig.budget;
  const { value, low, high } = error.lostFraction;
  const shares: Omit<BudgetShare, 'saturated'>[] = [
    {
      share: (100 * value) / lostFractionPercent,
      shareError: (100 * (high - low)) / (2 * sigmas95) / lostFractionPercent,
      spentBy: 'lost-fraction',
    },
  ];
  if (error.rmsArcsec !== undefined) {
    const { growthPercent } = imageGrowth(rig, error.rmsArcsec);
    const growth = scaled(growthPercent, 1 / fwhmGrowthPercent);
    shares.push({ share: growth.value, shareError: growth.standardError, spentBy: 'fwhm-growth' });
    if (rmsErrorArcsec !== undefined) {
      const rms = scaled(error.rmsArcsec, 1 / rmsErrorArcsec);
      shares.push({ share: rms.value, shareError: rms.standardError, spentBy: 'rms-error' });
    }
  }
  const largest = shares.reduce((a, b) => (b.share > a.share ? b : a));
  const mostSaturated = 2 * (error.lostReasons.saturated ?? 0) > error.trials - error.located;
  return { ...largest, saturated: mostSaturated && largest.spentBy === 'lost-fraction' };
}
