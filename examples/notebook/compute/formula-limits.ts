/** Where the error by formula meets the budget. */
import { buildScene, type FocusLimit, noiseWithinBudgetArcsec, type Rig } from '@holdfast/sim';
import { analyticErrorPx } from '@holdfast/sim/internal';
import { umPerRingPx } from './derived.ts';

/** Largest ring that the library simulates, px. */
const largestRingPx = 300;
/** No search begins at a smaller ring, px. */
const leastGuessPx = 3;
/** Share of the limit to which it is sought: what stands for a moment need not be known better. */
const precision = 0.04;
/**
 * The range is this part of its number wide to either side: the limit of many frames lies in it for 95 % of
 * random rigs (test/notebook/first-answer.test.ts). The formula knows nothing of lost frames.
 */
const half = 0.15;
/** Nor narrower than this, px: near focus the blur hides how large the ring is. */
const leastPx = 2;
/** A star in focus that spends this many times the budget is outside it beyond doubt. */
const farOutside = 1.5;

/** A limit as outer diameter of the ring, px. */
export interface LimitRange {
  readonly value: number;
  readonly low: number;
  readonly high: number;
}

/**
 * The limit of the rig's own method, in the form that a simulated limit has, its ring as a range; that of the
 * least possible error takes too long for a moment, and is left at this.
 */
export function formulaLimit(rig: Rig): FocusLimit {
  const own = lastWithin(guessPx(rig) * umPerRingPx(rig), largestUm(rig), (focusShiftUm) =>
    shareByFormula(rig, focusShiftUm),
  );
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
    ringDiameterPx: rangePx(rig, px, own === largestUm(rig)),
    before: side,
    beyond: side,
    formulaLimitUm: own,
    leastErrorLimitUm: own,
    trialsPerShift: 0,
    shiftsTried: 0,
  };
}

function rangePx(rig: Rig, value: number, isLargest: boolean): LimitRange {
  if (isLargest) return { value, low: value, high: value };
  if (value === 0 && shareByFormula(rig, 0) > farOutside) return { value, low: 0, high: 0 };
  const spread = Math.max(leastPx, half * value);
  return { value, low: Math.max(0, value - spread), high: value + spread };
}

function largestUm(rig: Rig): number {
  const { widthPx, heightPx, binning } = rig.guideCamera;
  return Math.min(largestRingPx, Math.min(widthPx, heightPx) / binning / 2) * umPerRingPx(rig);
}

/** The squared share of the budget that the rig's own method spends, by formula. */
function shareByFormula(rig: Rig, focusShiftUm: number): number {
  const scene = buildScene(rig, { focusShiftUm });
  const errorPx = analyticErrorPx(scene, rig.tracking.estimator) ?? Infinity;
  return ((errorPx * scene.arcsecPerPx) / noiseWithinBudgetArcsec(rig)) ** 2;
}

/**
 * Where the squared share of the budget reaches 1: between two places it grows about as a power of the shift.
 */
function lastWithin(guess: number, largest: number, shareAt: (distance: number) => number): number {
  let high = { at: Math.min(guess, largest), share: shareAt(Math.min(guess, largest)) };
  // What the star spends in focus matters only where this ring is too large.
  let low = { at: 0, share: high.share > 1 ? shareAt(0) : 0 };
  // A star in focus may fall between the pixels: a small ring is measured better.
  for (let at = 0.5 * guess; low.share > 1 && at <= Math.min(largest, 4 * guess); at *= 2)
    low = { at, share: shareAt(at) };
  if (low.share > 1) return 0;
  if (high.at <= low.at) high = low;
  while (high.share <= 1) {
    if (high.at >= largest) return largest;
    const ratio = Math.sqrt((1 - low.share) / Math.max(1e-12, high.share - low.share));
    low = high;
    const at = Math.min(largest, low.at * Math.min(1.3, Math.max(1.1, 1.02 * ratio)));
    high = { at, share: shareAt(at) };
  }
  while (high.at - low.at > precision * high.at) {
    const at =
      high.share > 10 || low.at === 0
        ? Math.sqrt(0.5 * (low.at ** 2 + high.at ** 2))
        : low.at * (high.at / low.at) ** (Math.log(1 / low.share) / Math.log(high.share / low.share));
    const share = shareAt(at);
    // On the line: near enough when a part of the precision off.
    if (Math.abs(share - 1) < precision) return at;
    if (share <= 1) low = { at, share };
    else high = { at, share };
  }
  return 0.5 * (low.at + high.at);
}

/**
 * Where the search begins, px: by the photons of an even ring and the noise of the pixels that it covers, for
 * a method that bears some 1.7 times less than the plain center of mass, or at a ring that just outgrows the
 * window.
 */
function guessPx(rig: Rig): number {
  const { fluxE, backgroundE, pixelNoiseE, blurFwhmPx, obstructionRatio, arcsecPerPx, windowPx } = buildScene(
    rig,
    { focusShiftUm: 0 },
  );
  const allowedPx = noiseWithinBudgetArcsec(rig) / arcsecPerPx;
  const variance = backgroundE + pixelNoiseE ** 2;
  const errorAt = (ringPx: number): number => {
    const radius = ringPx / 2 + blurFwhmPx / 2;
    const spread = (ringPx ** 2 * (1 + obstructionRatio ** 2)) / 16 + blurFwhmPx ** 2 / 5.55;
    return Math.sqrt(spread / fluxE + (variance * Math.PI * radius ** 4) / (4 * fluxE ** 2));
  };
  let guess = leastGuessPx;
  while (guess < 1.15 * windowPx && errorAt(1.7 * guess) < allowedPx) guess *= 1.05;
  return guess;
}
