/** The error curve's numbers, as its figure draws them and as its text alternative tells them. */
import { estimatorNames, noiseWithinBudgetArcsec, type SweepRow } from '@holdfast/sim';
import { estimatorLabels, intervalOf, significant } from '@holdfast/sim/internal';
import type { Report } from '../reports/report.ts';
import { estimateText, intervalText, lostText, shiftText, shown } from './number-words.ts';

/** The spread of fewer positions says too little for a point. */
export const leastLocated = 10;

/** A value at a focus shift with its 95 % interval. */
export interface CurvePoint {
  readonly x: number;
  readonly y: number;
  readonly low: number;
  readonly high: number;
}

/** A shift at which hardly a frame gave a position: a gap in the line. */
export interface CurveGap {
  readonly x: number;
  readonly y?: undefined;
}

export interface CurveLine {
  readonly label: string;
  /** Its place among all methods: one method has one mark in every figure. */
  readonly index: number;
  /** Whether the rig measures its star so. */
  readonly own: boolean;
  /** Noise-equivalent error, arcsec. */
  readonly points: readonly (CurvePoint | CurveGap)[];
  /** Frames without a position, %. */
  readonly lost: readonly CurvePoint[];
}

export interface CurveData {
  readonly lines: readonly CurveLine[];
  /** Least possible error, arcsec. */
  readonly bound: readonly { readonly x: number; readonly y: number }[];
  readonly filters: readonly { readonly name: string; readonly distanceUm: number }[];
  readonly arcsecPerPx: number;
  readonly budgetArcsec: number;
  readonly budgetText: string;
  readonly lostBudget: number;
  readonly lostHigh: number;
  readonly errorRange: { readonly low: number; readonly high: number };
  readonly farthestUm: number;
  /** Absent where the limit is 0 or lies beyond the axis. */
  readonly limit?: {
    readonly value: number;
    readonly low: number;
    readonly high: number;
    readonly text: string;
  };
}

export function curveData({ rig, advice, curve }: Report): CurveData {
  const names = [...new Set(curve.map(({ estimator }) => estimator))];
  const lines = names.map((name) => {
    const rows = curve.filter(({ estimator }) => estimator === name);
    return {
      label: estimatorLabels[name],
      index: estimatorNames.indexOf(name),
      own: name === advice.estimator,
      points: rows.map(errorPoint),
      // By formula alone nothing is known of lost frames.
      lost: rows.filter(({ trials }) => trials > 0).map(lostPoint),
    };
  });
  const bound = curve
    .filter(({ estimator }) => estimator === names[0])
    .map(({ focusShiftUm, boundPx, arcsecPerPx }) => ({
      x: Math.abs(focusShiftUm),
      y: boundPx * arcsecPerPx,
    }));
  const budgetArcsec = noiseWithinBudgetArcsec(rig);
  const filters = advice.filters.map(({ filter, focusShiftUm }) => ({
    name: filter,
    distanceUm: Math.abs(focusShiftUm),
  }));
  const errors = [
    ...lines.flatMap(({ points }) => points.flatMap(({ y }) => y ?? [])),
    ...bound.map(({ y }) => y),
    budgetArcsec,
  ];
  const farthestUm = Math.max(...bound.map(({ x }) => x), ...filters.map(({ distanceUm }) => distanceUm));
  const { limitUm } = advice.limit;
  const lost = lines.flatMap((line) => line.lost.map(({ high }) => high));
  return {
    lines,
    bound,
    filters,
    arcsecPerPx: curve[0].arcsecPerPx,
    budgetArcsec,
    budgetText: significant(budgetArcsec, 2),
    lostBudget: rig.budget.lostFractionPercent,
    lostHigh: Math.min(100, Math.max(2 * rig.budget.lostFractionPercent, 1.05 * Math.max(0, ...lost))),
    errorRange: { low: Math.min(...errors) / 1.9, high: Math.max(...errors) * 1.35 },
    farthestUm,
    ...(limitUm.value > 0 && limitUm.value <= farthestUm
      ? {
          limit: {
            value: limitUm.value,
            low: limitUm.low,
            high: Math.min(farthestUm, limitUm.high),
            text: significant(limitUm.value, 3),
          },
        }
      : {}),
  };
}

function errorPoint({
  focusShiftUm,
  noiseEquivalentArcsec,
  trials,
  located,
}: SweepRow): CurvePoint | CurveGap {
  const x = Math.abs(focusShiftUm);
  // By formula no frames are counted.
  if (noiseEquivalentArcsec === undefined || (trials > 0 && located < leastLocated)) return { x };
  const { value, low, high } = intervalOf(noiseEquivalentArcsec);
  return { x, y: value, low: Math.max(low, value / 10), high };
}

function lostPoint({ focusShiftUm, lostFraction: { value, low, high } }: SweepRow): CurvePoint {
  return { x: Math.abs(focusShiftUm), y: 100 * value, low: 100 * low, high: 100 * high };
}

/** The figure for those who hear it. */
export function curveAlternative({ rig, advice, curve }: Report, data: CurveData): string {
  const shifts = [...new Set(curve.map(({ focusShiftUm }) => focusShiftUm))].sort((a, b) => a - b);
  const told = [shifts[0], shifts[Math.floor(shifts.length / 2)], shifts[shifts.length - 1]].map((shift) => {
    const rows = curve.filter(({ focusShiftUm }) => focusShiftUm === shift);
    const errors = rows.map(
      ({ estimator, noiseEquivalentArcsec, lostFraction, trials }) =>
        `${estimatorLabels[estimator]} ${estimateText(noiseEquivalentArcsec, 'arcsec')}` +
        (trials > 0 ? `, lost ${lostText(lostFraction)}` : ' by formula'),
    );
    const least = shown(significant(rows[0].boundPx * rows[0].arcsecPerPx, 2));
    return `At ${shiftText(Math.abs(shift)).replace('+', '')} from focus: ${errors.join('; ')}; least possible ${least} arcsec.`;
  });
  const filters = advice.filters.map(({ filter, focusShiftUm }) => `${filter} ${shiftText(focusShiftUm)}`);
  return [
    `Noise-equivalent error of the guide star's position, one axis, against the distance from focus, for ${rig.name}.`,
    ...told,
    `The budget allows an error of ${data.budgetText} arcsec and ${tidy(data.lostBudget)} % of frames lost.`,
    `Focus limit: ${intervalText(advice.limit.limitUm, 'µm')}.`,
    `Filters: ${filters.join(', ')}.`,
  ].join(' ');
}

const tidy = (value: number): string => shown(String(value));
