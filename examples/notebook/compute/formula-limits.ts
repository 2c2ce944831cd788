/** Where the error by formula meets the budget. */
import { buildScene, type FocusLimit, noiseWithinBudgetArcsec, type Rig, type Scene } from '@holdfast/sim';
import { analyticErrorPx } from '@holdfast/sim/internal';
import { fNumberOf, pixelUmOf } from './derived.ts';

/** Largest ring that the library simulates, px. */
const largestRingPx = 300;
/** Share of the limit to which it is sought: what stands for a moment need not be known better. */
const precision = 0.03;

/**
 * The limit of the rig's own method, in the form that a simulated limit has; that of the least possible error
 * takes too long for a moment, and is left at this.
 */
export function formulaLimit(rig: Rig): FocusLimit {
  const own = formulaLimitUm(rig, (scene) => analyticErrorPx(scene, rig.tracking.estimator) ?? Infinity);
  const side = {
    limitUm: { value: own, low: own, high: own },
    limitedBy: own === 0 ? 'out-of-budget-in-focus' : own === largestUm(rig) ? 'ring-size' : 'fwhm-growth',
  } as const;
  const px = own / umPerRingPx(rig);
  const { windowPx, windowToHoldPx } = buildScene(rig, { focusShiftUm: own });
  return {
    estimator: rig.tracking.estimator,
    windowPx,
    windowToHoldPx,
    windowFrom: rig.tracking.windowPx === undefined ? 'filters' : 'rig',
    ...side,
    ringDiameterPx: { value: px, low: px, high: px },
    before: side,
    beyond: side,
    formulaLimitUm: own,
    leastErrorLimitUm: own,
    trialsPerShift: 0,
    shiftsTried: 0,
  };
}

const umPerRingPx = (rig: Rig): number => pixelUmOf(rig) * fNumberOf(rig);

function largestUm(rig: Rig): number {
  const { widthPx, heightPx, binning } = rig.guideCamera;
  return Math.min(largestRingPx, Math.min(widthPx, heightPx) / binning / 2) * umPerRingPx(rig);
}

function formulaLimitUm(rig: Rig, errorPx: (scene: Scene) => number): number {
  const allowedArcsec = noiseWithinBudgetArcsec(rig);
  return lastWithin(8 * umPerRingPx(rig), largestUm(rig), (focusShiftUm) => {
    const scene = buildScene(rig, { focusShiftUm });
    const share = (errorPx(scene) * scene.arcsecPerPx) / allowedArcsec;
    return share * share;
  });
}

/**
 * Where the squared share of the budget reaches 1: the square of an error grows about as the square of the
 * shift, so that a straight line through two places of these squares comes near it.
 */
export function lastWithin(guess: number, largest: number, shareAt: (distance: number) => number): number {
  let low = { at: 0, share: shareAt(0) };
  // A star in focus may fall between the pixels: a small ring is measured better.
  for (let at = 0.5 * guess; low.share > 1 && at <= Math.min(largest, 4 * guess); at *= 2)
    low = { at, share: shareAt(at) };
  if (low.share > 1) return 0;
  let high = low;
  for (let at = Math.min(Math.max(guess, 1.5 * low.at), largest); high.share <= 1; ) {
    if (high.at >= largest) return largest;
    low = high;
    high = { at, share: shareAt(at) };
    const ratio = Math.sqrt(Math.max(0, (1 - low.share) / Math.max(1e-12, high.share - low.share)));
    at = Math.min(largest, at * Math.min(4, Math.max(1.5, 1.1 * ratio)));
  }
  while (high.at - low.at > precision * high.at) {
    const isCurved = high.share > 4;
    const part = isCurved ? 0.4 : (1 - low.share) / (high.share - low.share);
    const at = Math.sqrt(low.at ** 2 + (high.at ** 2 - low.at ** 2) * part);
    const share = shareAt(at);
    // On the line: near enough when a part of the precision off.
    if (Math.abs(share - 1) < precision) return at;
    if (share <= 1) low = { at, share };
    else high = { at, share };
  }
  return 0.5 * (low.at + high.at);
}
