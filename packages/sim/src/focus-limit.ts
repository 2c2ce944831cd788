/** How far the guide camera may be out of focus before the budget is spent. */
import { log } from '@holdfast/psf';
import { imageGrowth, rmsWithinBudgetArcsec } from './budget.ts';
import type { PositionError } from './error-tally.ts';
import { leastError } from './least-error.ts';
import { type LongWorkOptions, pause } from './long-work.ts';
import { measureError } from './measure-error.ts';
import type { EstimatorName, Rig } from './rig-schema.ts';
import { buildScene, type SceneSetting } from './scene.ts';
import { type Interval, scaled, sigmas95 } from './statistics.ts';

export interface FocusLimitOptions extends LongWorkOptions {
  readonly seed: string | number;
  /** Default: the rig's. */
  readonly estimator?: EstimatorName;
  /** Trials at each shift that is tried. Default 1024. */
  readonly trials?: number;
  /** What else differs from the rig, as the flux of a measured star. */
  readonly setting?: Omit<SceneSetting, 'focusShiftUm'>;
}

/** What ends the range of usable focus shifts. */
export type LimitedBy =
  /** the picture's stars grow more than the budget allows */
  | 'fwhm-growth'
  /** more frames without a position than the budget allows */
  | 'lost-fraction'
  /** the position error alone is more than the budget allows */
  | 'rms-error'
  /** the ring outgrows the sensor, or the largest ring that is simulated */
  | 'ring-size'
  /** outside the budget even in focus: refocusing does not help */
  | 'out-of-budget-in-focus'
  /** the star saturates wherever it could be measured well enough */
  | 'saturation';

export interface FocusLimit {
  readonly estimator: EstimatorName;
  /** Largest |focus shift| within the budget, um, by simulation, with 95 % interval. The ring is the same on both sides. */
  readonly limitUm: Interval;
  /** The same as outer diameter of the ring, px. */
  readonly ringDiameterPx: Interval;
  readonly limitedBy: LimitedBy;
  /** Present when the star saturates in focus: the largest shift tried at which it still did, um. */
  readonly saturatedUm?: number;
  /** Limit were the star measured with the least possible error, um, by formula: no estimator can go beyond it. */
  readonly leastErrorLimitUm: number;
  readonly trialsPerShift: number;
  readonly shiftsTried: number;
}

/** Rings beyond this are not simulated: their frames are slow and their stars long lost. */
const largestRingPx = 300;

/**
 * Largest focus shift, on either side of focus, at which growth of the picture's stars and lost fraction both keep
 * within the rig's budget. Root search on simulated frames; the same random numbers serve every shift, so that the
 * spent share of the budget is a smooth function of the shift. The interval comes from the standard error of that
 * share and its slope.
 *
 * @throws the signal's reason when cancelled
 */
export async function focusLimit(
  rig: Rig,
  {
    seed,
    estimator = rig.tracking.estimator,
    trials = 1024,
    setting = {},
    onProgress,
    signal,
  }: FocusLimitOptions,
): Promise<FocusLimit> {
  const { telescope, guideCamera } = rig;
  const fNumber = telescope.focalLengthMm / telescope.apertureMm;
  const pixelUm = guideCamera.pixelSizeUm * guideCamera.binning;
  const sensorPx = Math.min(guideCamera.widthPx, guideCamera.heightPx) / guideCamera.binning;
  const largestUm = Math.min(largestRingPx, sensorPx / 2) * pixelUm * fNumber;
  const tried: Spent[] = [];
  const spentAt = async (focusShiftUm: number): Promise<Spent> => {
    await pause(signal);
    const scene = buildScene(rig, { ...setting, focusShiftUm });
    const spent = spentShare(rig, measureError(scene, { estimator, seed, trials }), focusShiftUm);
    tried.push(spent);
    onProgress?.({ task: 'focus limit', done: tried.length, total: Math.max(tried.length, 12) });
    return spent;
  };
  const answer = (low: number, value: number, high: number, limitedBy: LimitedBy): FocusLimit => ({
    estimator,
    limitUm: { low, value, high },
    ringDiameterPx: {
      low: low / (fNumber * pixelUm),
      value: value / (fNumber * pixelUm),
      high: high / (fNumber * pixelUm),
    },
    limitedBy,
    ...saturatedUpTo(tried),
    leastErrorLimitUm: leastErrorLimit(rig, setting, largestUm),
    trialsPerShift: trials,
    shiftsTried: tried.length,
  });

  let inside = await spentAt(0);
  if (inside.share > 1 && !inside.saturated) return answer(0, 0, 0, 'out-of-budget-in-focus');
  // Outwards from a ring of 3 px until the budget is spent; a star that saturates in focus is usable once it is spread.
  let outside: Spent | undefined;
  for (let shift = Math.min(3 * pixelUm * fNumber, largestUm); outside === undefined; shift *= 1.7) {
    const spent = await spentAt(Math.min(shift, largestUm));
    if (spent.share > 1 && !spent.saturated) outside = spent;
    else if (shift >= largestUm)
      return spent.share > 1
        ? answer(0, 0, 0, 'saturation')
        : answer(largestUm, largestUm, largestUm, 'ring-size');
    else inside = spent;
  }
  if (inside.share > 1) return answer(0, 0, 0, 'saturation');
  // Between the two: the secant of log(share), kept off the ends.
  for (let i = 0; i < 12 && outside.shiftUm - inside.shiftUm > 0.01 * outside.shiftUm; i++) {
    const span = outside.shiftUm - inside.shiftUm;
    const rise = log(outside.share / Math.max(inside.share, 1e-6));
    const part = -log(Math.max(inside.share, 1e-6)) / rise;
    const spent = await spentAt(inside.shiftUm + span * Math.min(0.85, Math.max(0.15, part)));
    if (spent.share > 1) outside = spent;
    else inside = spent;
  }
  const value = 0.5 * (inside.shiftUm + outside.shiftUm);
  // Slope over a wider stretch than the last bracket, where the noise of two neighbours would rule it.
  const slope = slopeAround(tried, value);
  const half =
    0.5 * (outside.shiftUm - inside.shiftUm) +
    (slope > 0 ? (sigmas95 * outside.shareError) / slope : Infinity);
  return answer(Math.max(0, value - half), value, Math.min(largestUm, value + half), outside.limitedBy);
}

function saturatedUpTo(tried: readonly Spent[]): { saturatedUm?: number } {
  const shifts = tried.filter(({ saturated }) => saturated).map(({ shiftUm }) => shiftUm);
  return shifts.length > 0 ? { saturatedUm: Math.max(...shifts) } : {};
}

/** How much of the budget is spent at one shift; 1 = all of it. */
interface Spent {
  readonly shiftUm: number;
  readonly share: number;
  readonly shareError: number;
  readonly limitedBy: 'fwhm-growth' | 'lost-fraction' | 'rms-error';
  /** Most of the lost frames are lost to saturation. */
  readonly saturated: boolean;
}

function spentShare(rig: Rig, error: PositionError, shiftUm: number): Spent {
  const { fwhmGrowthPercent, lostFractionPercent, rmsErrorArcsec } = rig.budget;
  const { value, low, high } = error.lostFraction;
  const saturated = 2 * (error.lostReasons.saturated ?? 0) > error.trials - error.located;
  const shares: Omit<Spent, 'shiftUm' | 'saturated'>[] = [
    {
      share: (100 * value) / lostFractionPercent,
      shareError: (100 * (high - low)) / (2 * sigmas95) / lostFractionPercent,
      limitedBy: 'lost-fraction',
    },
  ];
  if (error.rmsArcsec !== undefined) {
    const { growthPercent } = imageGrowth(rig, error.rmsArcsec);
    const { value: growth, standardError } = scaled(growthPercent, 1 / fwhmGrowthPercent);
    shares.push({ share: growth, shareError: standardError, limitedBy: 'fwhm-growth' });
    if (rmsErrorArcsec !== undefined) {
      const rms = scaled(error.rmsArcsec, 1 / rmsErrorArcsec);
      shares.push({ share: rms.value, shareError: rms.standardError, limitedBy: 'rms-error' });
    }
  }
  const largest = shares.reduce((a, b) => (b.share > a.share ? b : a));
  return { shiftUm, ...largest, saturated: saturated && largest.limitedBy === 'lost-fraction' };
}

/** Rise of the spent share per um between the nearest tried shifts at least 5 % away on either side. */
function slopeAround(tried: readonly Spent[], shiftUm: number): number {
  const below = tried.filter((s) => s.shiftUm <= 0.95 * shiftUm).sort((a, b) => b.shiftUm - a.shiftUm)[0];
  const above = tried.filter((s) => s.shiftUm >= 1.02 * shiftUm).sort((a, b) => a.shiftUm - b.shiftUm)[0];
  if (below === undefined || above === undefined) return 0;
  return (above.share - below.share) / (above.shiftUm - below.shiftUm);
}

/** The shift at which the least possible error spends the growth budget, by bisection on the formula. */
function leastErrorLimit(rig: Rig, setting: Omit<SceneSetting, 'focusShiftUm'>, largestUm: number): number {
  const allowed = rmsWithinBudgetArcsec(rig);
  const within = (focusShiftUm: number) => {
    const scene = buildScene(rig, { ...setting, focusShiftUm });
    return leastError(scene) * scene.arcsecPerPx <= allowed;
  };
  if (!within(0)) return 0;
  let low = 0;
  let high = Math.min(largestUm, 50);
  while (within(high)) {
    if (high >= largestUm) return largestUm;
    low = high;
    high = Math.min(largestUm, 2 * high);
  }
  while (high - low > 0.005 * high) {
    const middle = 0.5 * (low + high);
    if (within(middle)) low = middle;
    else high = middle;
  }
  return 0.5 * (low + high);
}
