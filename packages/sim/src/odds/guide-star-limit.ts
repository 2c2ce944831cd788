/**
 * How faint a guide star may be: until it is no longer detected, and until its position is no longer good
 * enough.
 */
import { log, requirePositive } from '@holdfast/psf/numerics';
import { noiseWithinBudgetArcsec } from '../budget/budget.ts';
import { budgetShare, measuredOf } from '../budget/budget-share.ts';
import { rigInLeastLight } from '../rig/guide-light.ts';
import type { EstimatorName, Rig } from '../rig/rig-schema.ts';
import { leastError } from '../trials/least-error.ts';
import { measureError } from '../trials/measure-error.ts';
import { buildScene, type Scene } from '../trials/scene.ts';

/** For which focus shift and with which precision the limit is sought. */
export interface GuideStarLimitOptions {
  /** Default: that of the rig with a filter of shift 0. */
  readonly focusShiftUm?: number;
  /**
   * Least SNR of the star's image at which it counts as detected. Default 10 (common practice, no source).
   */
  readonly leastSnr?: number;
  /**
   * Share of a star's light that the pick-off lets pass beyond what the rig says, in (0, 1]; sky light too.
   * Default 1.
   */
  readonly keptFraction?: number;
  /** Default: the rig's. */
  readonly estimator?: EstimatorName;
  /** Seed of the simulation. */
  readonly seed: string | number;
  /** Simulated frames at each magnitude that is tried. Default 512. */
  readonly trials?: number;
}

/** The faintest star for one purpose. */
export interface FaintestStar {
  /** V magnitude above the atmosphere. */
  readonly magnitude: number;
  /** SNR of its image. */
  readonly snr: number;
  /** Electrons in one exposure. */
  readonly fluxE: number;
  /** Least possible error of its position, one axis, arcsec. */
  readonly leastErrorArcsec: number;
}

/** The faintest star that can be guided on. */
export interface GuideStarLimit {
  /** Focus shift at the guide sensor, um. */
  readonly focusShiftUm: number;
  /** Estimator that measures the star. */
  readonly estimator: EstimatorName;
  /** Faintest star whose image has the least SNR, by formula. */
  readonly detected: FaintestStar;
  /**
   * Faintest star that the estimator measures within the budget, growth of the picture's stars and lost
   * frames both, by simulation, to some 0.1 mag; undefined when there is none.
   */
  readonly measured: FaintestStar | undefined;
  /** The same were it measured with the least possible error, by formula: no estimator goes beyond it. */
  readonly leastError: FaintestStar | undefined;
  /** Noise-equivalent error per axis that the budget allows, arcsec. */
  readonly allowedNoiseArcsec: number;
  /** The brighter of `detected` and `measured`; undefined when no star is measured within the budget. */
  readonly usable: FaintestStar | undefined;
  /** Frames that were simulated per magnitude. */
  readonly trials: number;
}

const brightest = -2;
const faintest = 25;

/**
 * A star so much brighter than the formula's limit that the estimator still loses says that no star will do,
 * mag.
 */
const widestGap = 8;

/**
 * The faintest star that a rig can guide on at a focus shift; through the filter of least light, where the
 * filters stand before the pick-off.
 *
 * ```ts
 * guideStarLimit(rig, { focusShiftUm: 300, seed: 1 }).usable?.magnitude
 * ```
 * @throws RangeError or TypeError naming the option that is out of range
 */
export function guideStarLimit(
  whole: Rig,
  {
    focusShiftUm = whole.guideFocusShiftUm,
    leastSnr = 10,
    keptFraction = 1,
    estimator = whole.tracking.estimator,
    seed,
    trials = 512,
  }: GuideStarLimitOptions,
): GuideStarLimit {
  requirePositive('leastSnr', leastSnr);
  if (!(keptFraction > 0 && keptFraction <= 1))
    throw new RangeError(`keptFraction must be in (0, 1], got ${keptFraction}`);
  const rig = rigInLeastLight(whole);
  const throughput = rig.telescope.throughput * keptFraction;
  const dimmed = { ...rig, telescope: { ...rig.telescope, throughput } };
  const sceneOf = (magnitude: number) => buildScene(dimmed, { focusShiftUm, magnitude });
  const zero = sceneOf(0).fluxE;
  const star = (scene: Scene): FaintestStar => ({
    magnitude: (-2.5 / Math.LN10) * log(scene.fluxE / zero),
    snr: scene.snr,
    fluxE: scene.fluxE,
    leastErrorArcsec: leastError(scene) * scene.arcsecPerPx,
  });
  const allowedNoiseArcsec = noiseWithinBudgetArcsec(rig);
  const detected = star(buildScene(dimmed, { focusShiftUm, snr: leastSnr }));
  const bound = lastWithin(brightest, faintest, 0.002, (magnitude) => {
    const scene = sceneOf(magnitude);
    return leastError(scene) * scene.arcsecPerPx <= allowedNoiseArcsec;
  });
  // The same random numbers serve every magnitude, so that what the budget says is a smooth function of it.
  const isMeasured = (magnitude: number): boolean => {
    const scene = sceneOf(magnitude);
    const error = measureError(scene, { estimator, seed, trials });
    return budgetShare(rig, measuredOf(error, scene.arcsecPerPx)).share <= 1;
  };
  const measured = bound === undefined ? undefined : brightenUntil(bound, isMeasured);
  const measuredStar = measured === undefined ? undefined : star(sceneOf(measured));
  return {
    focusShiftUm,
    estimator,
    detected,
    measured: measuredStar,
    leastError: bound === undefined ? undefined : star(sceneOf(bound)),
    allowedNoiseArcsec,
    usable: measuredStar && (measuredStar.magnitude < detected.magnitude ? measuredStar : detected),
    trials,
  };
}

/**
 * The faintest magnitude within the budget, when errors grow as stars get fainter; undefined when `low` is
 * outside.
 */
function lastWithin(
  low: number,
  high: number,
  resolution: number,
  isWithin: (magnitude: number) => boolean,
): number | undefined {
  if (!isWithin(low)) return undefined;
  if (isWithin(high)) return high;
  let inside = low;
  let outside = high;
  while (outside - inside > resolution) {
    const middle = (inside + outside) / 2;
    if (isWithin(middle)) inside = middle;
    else outside = middle;
  }
  return inside;
}

/**
 * Steps to brighter stars from the formula's limit, then between the last two: the brightest of all would
 * saturate.
 */
function brightenUntil(from: number, isWithin: (magnitude: number) => boolean): number | undefined {
  if (isWithin(from)) return from;
  for (let gap = 0.5; gap <= widestGap && from - gap >= brightest; gap += 0.5) {
    if (isWithin(from - gap)) return lastWithin(from - gap, from - gap + 0.5, 0.03, isWithin);
  }
  return undefined;
}
