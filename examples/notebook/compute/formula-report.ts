/** The whole answer by formula, piece by piece, so that the page can show each piece in the frame that it is ready in. */
import {
  analyticErrorPx,
  buildScene,
  estimatorNames,
  type FilterAdvice,
  type FocusLimit,
  leastError,
  type RefocusAdvice,
  type Rig,
  rmsWithinBudgetArcsec,
  type SweepRow,
  version,
} from '@holdfast/sim';
import { curveShiftsUm, pictureShiftsUm, starPicture } from '../../make-report.ts';
import type { Report } from '../../report.ts';
import { formulaStanding } from './formula-error.ts';

/** Small steps, `undefined` each; between them the advice as soon as it is there, at the end the whole report. */
export function* formulaReport(
  rig: Rig,
  seed: string,
): Generator<RefocusAdvice | undefined, Report, unknown> {
  const { estimator } = rig.tracking;
  const filters: FilterAdvice[] = [];
  for (const { name, focusShiftUm: shift } of rig.filters) {
    const focusShiftUm = shift + rig.guideFocusShiftUm;
    const standing = formulaStanding(rig, { focusShiftUm }, estimator);
    const outcome = standing.verdict === 'within' ? 'keep' : 'refocus';
    filters.push({
      filter: name,
      focusShiftUm,
      standing,
      outcome,
      reason: reasonOf(rig, standing.growth?.growthPercent.value),
    });
    yield undefined;
  }
  const inFocus = formulaStanding(rig, { focusShiftUm: 0 }, estimator);
  yield undefined;
  const limit = yield* formulaLimit(rig);
  const advice: RefocusAdvice = {
    rig: rig.name,
    estimator,
    seed,
    trials: 0,
    inFocus,
    filters,
    limit,
    notModelled: [],
  };
  yield advice;
  const curve: SweepRow[] = [];
  for (const focusShiftUm of curveShiftsUm(advice)) {
    for (const name of estimatorNames) {
      const { scene, error } = formulaStanding(rig, { focusShiftUm }, name);
      curve.push({ cell: 0, plan: '', version, rig: rig.name, seed, ...scene, ...error });
      yield undefined;
    }
  }
  const stars = [];
  for (const shift of pictureShiftsUm(advice)) {
    stars.push(starPicture(rig, shift, seed));
    yield undefined;
  }
  return { version, rig, advice, curve, stars };
}

function reasonOf(rig: Rig, growthPercent: number | undefined): string {
  if (growthPercent === undefined) return 'by formula the star is not found';
  const allowed = rig.budget.fwhmGrowthPercent;
  return `by formula the stars of the picture grow by ${growthPercent.toPrecision(2)} %, ${
    growthPercent <= allowed ? 'within' : 'more than'
  } the ${allowed} % that the budget allows; whether frames are lost, the simulation will tell`;
}

/** Largest ring that the library simulates, px. */
const largestRingPx = 300;

/** Where the error by formula meets the budget, by doubling and bisection. */
function* formulaLimit(rig: Rig): Generator<undefined, FocusLimit, unknown> {
  const { telescope, guideCamera } = rig;
  const umPerPx =
    (guideCamera.pixelSizeUm * guideCamera.binning * telescope.focalLengthMm) / telescope.apertureMm;
  const sensorPx = Math.min(guideCamera.widthPx, guideCamera.heightPx) / guideCamera.binning;
  const largestUm = Math.min(largestRingPx, sensorPx / 2) * umPerPx;
  const allowed = rmsWithinBudgetArcsec(rig);
  const own = yield* lastWithin(largestUm, (focusShiftUm) => {
    const scene = buildScene(rig, { focusShiftUm });
    return (analyticErrorPx(scene, rig.tracking.estimator) ?? Infinity) * scene.arcsecPerPx <= allowed;
  });
  const least = yield* lastWithin(largestUm, (focusShiftUm) => {
    const scene = buildScene(rig, { focusShiftUm });
    return leastError(scene) * scene.arcsecPerPx <= allowed;
  });
  const side = {
    limitUm: { value: own, low: own, high: own },
    limitedBy: own === 0 ? 'out-of-budget-in-focus' : own === largestUm ? 'ring-size' : 'fwhm-growth',
  } as const;
  const px = own / umPerPx;
  return {
    estimator: rig.tracking.estimator,
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

function* lastWithin(
  largest: number,
  isWithin: (distance: number) => boolean,
): Generator<undefined, number, unknown> {
  if (!isWithin(0)) return 0;
  let low = 0;
  let high = Math.min(largest, 50);
  while (isWithin(high)) {
    yield undefined;
    if (high >= largest) return largest;
    low = high;
    high = Math.min(largest, 2 * high);
  }
  while (high - low > 0.01 * high) {
    const middle = 0.5 * (low + high);
    if (isWithin(middle)) low = middle;
    else high = middle;
    yield undefined;
  }
  return 0.5 * (low + high);
}
