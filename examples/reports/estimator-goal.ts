/**
 * The goal for the estimators, cell by cell: one of them within 5 % of the least possible error, and
 * unbiased.
 */
import { type Compared, type ComparedCell, comparedNames, scenery } from './estimator-comparison.ts';

/** Largest rms error over the bound. */
const nearRatio = 1.05;

/** A position may be off on average by this, px, or by this share of its scatter, whichever is larger. */
const leastBiasPx = 0.01;
const biasShare = 0.1;

/** Frames without a position are no measurement. */
const mostLost = 0.01;

/**
 * The bound tells what unbiased estimators can reach while their error is small against the blur of the
 * star's edges. Beyond this share of the blur's FWHM no estimator is known to reach it.
 */
const asymptoticShare = 0.1;

export interface Judgment {
  readonly outerDiameterPx: number;
  readonly snr: number;
  /** Whether the bound itself is meaningful there. */
  readonly isAsymptotic: boolean;
  /** Estimators that meet the goal, within two standard errors of what was measured. */
  readonly metBy: readonly Compared['estimator'][];
  readonly best: Compared['estimator'] | undefined;
  readonly bestRatio: number | undefined;
  readonly bestRatioError: number | undefined;
}

export function judge({ outerDiameterPx, snr, boundPx, estimators }: ComparedCell): Judgment {
  const measured = estimators.filter(({ lostFraction }) => lostFraction <= mostLost);
  const [best] = [...measured].sort((a, b) => (a.boundRatio ?? Infinity) - (b.boundRatio ?? Infinity));
  return {
    outerDiameterPx,
    snr,
    isAsymptotic: boundPx <= asymptoticShare * scenery.blurFwhmPx,
    metBy: measured.filter(meets).map(({ estimator }) => estimator),
    best: best?.estimator,
    bestRatio: best?.boundRatio,
    bestRatioError: best?.boundRatioError,
  };
}

function meets({ rmsPx, boundRatio, boundRatioError, biasPx, biasErrorPx }: Compared): boolean {
  if (rmsPx === undefined || boundRatio === undefined || boundRatioError === undefined) return false;
  if (biasPx === undefined || biasErrorPx === undefined) return false;
  const isNear = boundRatio <= nearRatio + 2 * boundRatioError;
  const isUnbiased = biasPx <= Math.max(leastBiasPx, biasShare * rmsPx) + 2 * biasErrorPx;
  return isNear && isUnbiased;
}

export function goalText(cells: readonly ComparedCell[]): string[] {
  const all = cells.map(judge);
  const asymptotic = all.filter(({ isAsymptotic }) => isAsymptotic);
  const met = asymptotic.filter(({ metBy }) => metBy.length > 0);
  const missed = all.filter(({ metBy }) => metBy.length === 0);
  const percent = ((nearRatio - 1) * 100).toFixed(0);
  const lines = [
    `Goal: a method within ${percent} % of the least possible error, with a bias below ${leastBiasPx} px or a tenth of its scatter,\nboth within two standard errors of the simulated frames.`,
    `Met in ${met.length} of the ${asymptotic.length} cells where that error is below a tenth of the blur's FWHM, and in ${all.length - missed.length} of all ${all.length}.`,
  ];
  for (const { outerDiameterPx, snr, best, bestRatio, bestRatioError, isAsymptotic } of missed)
    lines.push(
      best === undefined || bestRatio === undefined
        ? `Missed: ring ${outerDiameterPx} px, SNR ${snr}: no method locates it in 99 % of the frames.`
        : `Missed: ring ${outerDiameterPx} px, SNR ${snr}: ${bestRatio.toFixed(2)} +- ${(bestRatioError ?? 0).toFixed(2)} by ${comparedNames[best]}${isAsymptotic ? '' : ', beyond where the bound can be reached'}.`,
    );
  for (const [name, label] of Object.entries(comparedNames)) {
    const by = all.filter(({ metBy }) => metBy.some((met) => met === name));
    lines.push(`${label} meets it in ${by.length}${by.length > 0 ? `: ${cellsText(by)}` : ''}.`);
  }
  return lines;
}

/** Rings with the same signal-to-noise ratios together. */
function cellsText(cells: readonly Judgment[]): string {
  const rings = [...new Set(cells.map(({ outerDiameterPx }) => outerDiameterPx))];
  const bySnrs = new Map<string, number[]>();
  for (const ring of rings) {
    const snrs = cells.filter(({ outerDiameterPx }) => outerDiameterPx === ring).map(({ snr }) => snr);
    const key = `SNR ${snrs.join(', ')}`;
    bySnrs.set(key, [...(bySnrs.get(key) ?? []), ring]);
  }
  return [...bySnrs].map(([snrs, same]) => `${same.join(', ')} px at ${snrs}`).join('; ');
}
