/**
 * The error of several ways of measuring along one axis: by formula at once, then by more and more simulated
 * frames.
 */

import type { SceneDescription } from '@holdfast/sim';
import { type EstimatorName, type Rig, type SceneSetting, type SweepRow, sweepCells } from '@holdfast/sim';
import { settled } from '../book.ts';
import type { Team } from '../work/crew.ts';
import { liveSeed } from './live-report.ts';
import { firstLookFrames, firstLookMs, roundsTo, wantedOf } from './rounds.ts';

/** A place on the axis and the scene there. */
export interface AxisPoint {
  readonly x: number;
  readonly setting: SceneSetting;
}

export interface ErrorLine {
  readonly estimator: EstimatorName;
  /**
   * By formula, px; `y` is absent where the estimator finds no star even without noise; empty while it is
   * worked out.
   */
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
  /** Simulated frames per point; 0: by formula alone. */
  readonly trials: number;
  readonly isDone: boolean;
}

/** Ways whose formula takes a millisecond; the others', ten and more. */
const quickOnes: readonly EstimatorName[] = [
  'centerOfMass',
  'thresholdedCenterOfMass',
  'weightedCenterOfMass',
];

export async function* errorLines(
  rig: Rig,
  points: readonly AxisPoint[],
  estimators: readonly EstimatorName[],
  most: number,
  team: Team,
  signal: AbortSignal,
  seen: Promise<unknown>,
): AsyncGenerator<ErrorLines, void, unknown> {
  const isQuick = (name: EstimatorName) => quickOnes.includes(name) || name === rig.tracking.estimator;
  const quick = estimators.filter(isQuick);
  const slow = estimators.filter((name) => !isQuick(name));
  const formulas = (names: readonly EstimatorName[], withBound: boolean) =>
    Promise.all(
      points.map(({ setting }) => team.runFirst(signal, 'formulaPoint', rig, setting, names, withBound)),
    );
  const first = await formulas(quick, true);
  const formula = new Map(
    quick.map((name, i) => [name, first.map(({ errors }) => errors[i].noiseEquivalentPx?.value)]),
  );
  const byFormula = (): ErrorLines => ({
    lines: estimators.map((estimator) => ({
      estimator,
      formula: (formula.get(estimator) ?? []).map((y, k) => ({ x: points[k].x, y })),
      trials: [],
    })),
    bound: first.map(({ scene, boundPx = 0 }, k) => ({ ...scene, x: points[k].x, y: boundPx })),
    trials: 0,
    isDone: false,
  });
  yield byFormula();
  if (slow.length > 0) {
    const found = await formulas(slow, false);
    for (const [i, name] of slow.entries())
      formula.set(
        name,
        found.map(({ errors }) => errors[i].noiseEquivalentPx?.value),
      );
    yield byFormula();
  }
  await seen;
  await settled(signal, firstLookMs);
  const settings = points.map(({ setting }) => setting);
  const drawn = byFormula();
  const looks = [
    ...(slow.length > 0 ? [{ names: quick, trials: firstLookFrames }] : []),
    ...[firstLookFrames, ...roundsTo(most)].map((trials) => ({ names: estimators, trials })),
  ];
  for (const look of wantedOf(looks)) {
    const { names, trials } = look;
    const plan = { settings, axes: { estimator: [...names] }, seed: liveSeed, trials };
    const cells = await Promise.all(
      sweepCells(rig, plan).map((cell) =>
        look === looks[0] ? team.runFirst(signal, 'cell', cell) : team.run(signal, 'cell', cell),
      ),
    );
    yield {
      ...drawn,
      lines: drawn.lines.map((line) => ({
        ...line,
        trials: cells.flatMap((rows, i) =>
          rows
            .filter(({ estimator }) => estimator === line.estimator)
            .map((row) => ({ x: points[i].x, row })),
        ),
      })),
      trials,
      isDone: look === looks[looks.length - 1],
    };
  }
}
