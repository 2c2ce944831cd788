/** Where the error by formula meets the budget. */
import {
  analyticErrorPx,
  buildScene,
  type FocusLimit,
  leastError,
  type Rig,
  rmsWithinBudgetArcsec,
} from '@holdfast/sim';
import { fNumberOf, pixelUmOf } from './derived.ts';

/** Largest ring that the library simulates, px. */
const largestRingPx = 300;
/** Share of the limit to which it is sought: what stands for a moment need not be known better. */
const precision = 0.03;

export function formulaLimits(rig: Rig): FocusLimit {
  const { guideCamera, tracking } = rig;
  const umPerPx = pixelUmOf(rig) * fNumberOf(rig);
  const sensorPx = Math.min(guideCamera.widthPx, guideCamera.heightPx) / guideCamera.binning;
  const largestUm = Math.min(largestRingPx, sensorPx / 2) * umPerPx;
  const allowed = rmsWithinBudgetArcsec(rig);
  const own = lastWithin(largestUm, (focusShiftUm) => {
    const scene = buildScene(rig, { focusShiftUm });
    return (analyticErrorPx(scene, tracking.estimator) ?? Infinity) * scene.arcsecPerPx <= allowed;
  });
  const least = lastWithin(largestUm, (focusShiftUm) => {
    const scene = buildScene(rig, { focusShiftUm });
    return leastError(scene) * scene.arcsecPerPx <= allowed;
  });
  const side = {
    limitUm: { value: own, low: own, high: own },
    limitedBy: own === 0 ? 'out-of-budget-in-focus' : own === largestUm ? 'ring-size' : 'fwhm-growth',
  } as const;
  const px = own / umPerPx;
  return {
    estimator: tracking.estimator,
    ...side,
    ringDiameterPx: { value: px, low: px, high: px },
    before: side,
    beyond: side,
    formulaLimitUm: own,
    leastErrorLimitUm: least,
    trialsPerShift: 0,
    shiftsTried: 0,
  };
}

/** By doubling and bisection. */
function lastWithin(largest: number, isWithin: (distance: number) => boolean): number {
  if (!isWithin(0)) return 0;
  let low = 0;
  let high = Math.min(largest, 50);
  while (isWithin(high)) {
    if (high >= largest) return largest;
    low = high;
    high = Math.min(largest, 2 * high);
  }
  while (high - low > precision * high) {
    const middle = 0.5 * (low + high);
    if (isWithin(middle)) low = middle;
    else high = middle;
  }
  return 0.5 * (low + high);
}
