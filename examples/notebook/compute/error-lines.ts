/** The error of several ways of measuring along one axis: by formula at once, then by more and more simulated frames. */
import {
  type EstimatorName,
  type Rig,
  type SceneDescription,
  type SceneSetting,
  type SweepRow,
  sweepCells,
} from '@holdfast/sim';
import { settled } from '../book.ts';
import type { Crew } from '../work/crew.ts';
import { liveSeed, rounds } from './live-report.ts';

/** A place on the axis and the scene there. */
export interface AxisPoint {
  readonly x: number;
  readonly setting: SceneSetting;
}

export interface ErrorLine {
  readonly estimator: EstimatorName;
  /** By formula, px; absent where the estimator finds no star even without noise. */
  readonly formula: readonly { readonly x: number; readonly y: number | undefined }[];
  /** By simulation; empty before the first round. */
  readonly trials: readonly { readonly x: number; readonly row: SweepRow }[];
}

export interface BoundPoint
  extends Pick<SceneDescription, 'fluxE' | 'blurFwhmPx' | 'outerDiameterPx' | 'arcsecPerPx' | 'snr'> {
  readonly x: number;
  readonly y: number;
}

export interface ErrorLines {
  readonly lines: readonly ErrorLine[];
  /** Least possible error, px. */
  readonly bound: readonly BoundPoint[];
  /** Simulated frames a point; 0: by formula alone. */
  readonly trials: number;
  readonly isDone: boolean;
}

export async function* errorLines(
  rig: Rig,
  points: readonly AxisPoint[],
  estimators: readonly EstimatorName[],
  crew: Crew,
  signal: AbortSignal,
  seen: Promise<unknown>,
): AsyncGenerator<ErrorLines, void, unknown> {
  const byFormula = await formulaLines(rig, points, estimators, crew, signal);
  yield byFormula;
  await seen;
  await settled(signal);
  const settings = points.map(({ setting }) => setting);
  for (const trials of rounds) {
    const plan = { settings, axes: { estimator: [...estimators] }, seed: liveSeed, trials };
    const cells = await Promise.all(sweepCells(rig, plan).map((cell) => crew.run(signal, 'cell', cell)));
    yield {
      ...byFormula,
      lines: byFormula.lines.map((line) => ({
        ...line,
        trials: cells.flatMap((rows, i) =>
          rows
            .filter(({ estimator }) => estimator === line.estimator)
            .map((row) => ({ x: points[i].x, row })),
        ),
      })),
      trials,
      isDone: trials === rounds[rounds.length - 1],
    };
  }
}

async function formulaLines(
  rig: Rig,
  points: readonly AxisPoint[],
  estimators: readonly EstimatorName[],
  crew: Crew,
  signal: AbortSignal,
): Promise<ErrorLines> {
  const found = await Promise.all(
    points.map(({ setting }) => crew.runFirst(signal, 'formulaPoint', rig, setting, estimators)),
  );
  const lines = estimators.map((estimator, i) => ({
    estimator,
    formula: points.map(({ x }, k) => ({ x, y: found[k].errors[i].rmsPx?.value })),
    trials: [],
  }));
  const bound = points.map(({ x }, k): BoundPoint => ({ ...found[k].scene, x, y: found[k].boundPx }));
  return { lines, bound, trials: 0, isDone: false };
}
