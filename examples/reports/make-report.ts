/** The main job for one rig: advice, error curve, and the star as the camera sees it. */
import {
  adviseRefocus,
  buildScene,
  type CellRunner,
  type CompleteAdvice,
  type EstimatorName,
  estimatorNames,
  inCellOrder,
  type LongWorkOptions,
  type RefocusAdvice,
  type Rig,
  type SweepRow,
  simulateFrames,
  sweep,
  version,
} from '@holdfast/sim';
import { estimatorLabels, prepareEstimator } from '@holdfast/sim/internal';
import type { Report, StarPicture } from './report.ts';

export interface ReportOptions extends LongWorkOptions {
  readonly seed: string;
  readonly trials: number;
  /** Runs the cells of the error curve; default: the calling thread. */
  readonly runner?: CellRunner;
  /** Told the advice as soon as it is there: the curve takes longer. */
  readonly onAdvice?: (advice: CompleteAdvice) => void;
}

/** Points of the error curve: enough to see its bend. */
const curvePoints = 13;

export async function makeReport(
  rig: Rig,
  { seed, trials, runner, onAdvice, onProgress, signal }: ReportOptions,
): Promise<Report> {
  const long = { ...(onProgress ? { onProgress } : {}), ...(signal ? { signal } : {}) };
  const advice = await adviseRefocus(rig, { seed, trials, ...long });
  onAdvice?.(advice);
  const curve: SweepRow[] = [];
  for await (const row of sweep(rig, {
    axes: { focusShiftUm: curveShiftsUm(advice), estimator: curveEstimators(rig) },
    seed,
    trials: Math.ceil(trials / 4),
    ...long,
    ...(runner ? { runner } : {}),
  }))
    curve.push(row);
  const stars = pictureShiftsUm(advice).map((shift) => starPicture(rig, shift, seed));
  return { version, rig, advice, curve: inCellOrder(curve), stars };
}

/** The ways of measuring that the error curve tells of: the usual ones, the best, and the rig's own. */
export function curveEstimators(rig: Rig): EstimatorName[] {
  const usual: readonly EstimatorName[] = [
    'centerOfMass',
    'thresholdedCenterOfMass',
    'gaussianFit',
    'templateFit',
  ];
  return estimatorNames.filter((name) => usual.includes(name) || name === rig.tracking.estimator);
}

/** Distances from focus of the error curve: beyond the limit and beyond every filter. */
export function curveShiftsUm(advice: RefocusAdvice): number[] {
  const farthest = farthestUm(advice);
  return Array.from({ length: curvePoints }, (_, i) => roundUm((farthest * i) / (curvePoints - 1)));
}

/** Focus shifts at which the star is pictured: from focus to twice the limit. */
export function pictureShiftsUm(advice: RefocusAdvice): number[] {
  const widest = advice.limit.limitUm.value > 0 ? 2 * advice.limit.limitUm.value : farthestUm(advice);
  return [0, 0.25, 0.5, 0.75, 1].map((part) => roundUm(part * widest));
}

function farthestUm({ filters, limit }: RefocusAdvice): number {
  const farthestFilter = Math.max(...filters.map(({ focusShiftUm }) => Math.abs(focusShiftUm)));
  return Math.max(1.25 * limit.limitUm.value, 1.1 * farthestFilter, 1);
}

/** To three digits: nobody sets a focuser finer, and figures and tables then agree. */
function roundUm(shift: number): number {
  return Number(shift.toPrecision(3));
}

/** One frame of the star, and where each way of measuring puts it. */
export function starPicture(rig: Rig, focusShiftUm: number, seed: string): StarPicture {
  const scene = buildScene(rig, { focusShiftUm });
  const frames = simulateFrames(scene, `${seed}|picture`);
  const { pixels, background, x, y } = frames.frame(0);
  return {
    focusShiftUm,
    outerDiameterPx: scene.outerDiameterPx,
    snr: scene.snr,
    width: scene.width,
    height: scene.height,
    pixels: Array.from(pixels, (value) => Math.round(10 * (value - background)) / 10),
    trueX: x,
    trueY: y,
    measured: estimatorNames.map((name) => {
      const found = prepareEstimator(name, scene, frames.backgroundSigma)(pixels, background);
      const estimator = estimatorLabels[name];
      return found.ok ? { estimator, x: found.x, y: found.y } : { estimator, reason: found.reason };
    }),
  };
}
