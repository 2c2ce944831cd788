/**
 * The error of several ways of measuring along one axis: by formula at once, then by more and more simulated
 * frames.
 */

import type { EstimatorName, Rig, SceneDescription, SceneSetting, SweepRow } from '@holdfast/sim';
import { settled } from '../book.ts';
import type { Team } from '../work/crew.ts';
import { cellOf } from './cell-of.ts';
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
  /** By simulation; empty before the first round, and in it but for the places that are known. */
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

/** @param chosenX  where a control stands: the place nearest to it is simulated first */
export async function* errorLines(
  rig: Rig,
  points: readonly AxisPoint[],
  chosenX: number,
  estimators: readonly EstimatorName[],
  most: number,
  team: Team,
  signal: AbortSignal,
  seen: Promise<unknown>,
): AsyncGenerator<ErrorLines, void, unknown> {
  const isQuick = (name: EstimatorName) => quickOnes.includes(name) || name === rig.tracking.estimator;
  const quick = estimators.filter(isQuick);
  const slow = estimators.filter((name) => !isQuick(name));
  const settings = points.map(({ setting }) => setting);
  const formulas = new Map<EstimatorName, ErrorLine['formula']>();
  const addFormulas = async (names: readonly EstimatorName[], perTask: number, withBound: boolean) => {
    const parts = partsOf(settings, perTask).map((part) =>
      team.runFirst(signal, 'formulaPoints', rig, part, names, withBound),
    );
    const found = (await Promise.all(parts)).flat();
    for (const [i, name] of names.entries())
      formulas.set(
        name,
        found.map(({ errors }, k) => ({ x: points[k].x, y: errors[i].noiseEquivalentPx?.value })),
      );
    return found;
  };
  const first = await addFormulas(quick, Math.ceil(points.length / 2), true);
  const simulated = new Map<EstimatorName, ErrorLine['trials']>();
  const lines = (trials: number, isDone: boolean): ErrorLines => ({
    lines: estimators.map((estimator) => ({
      estimator,
      formula: formulas.get(estimator) ?? [],
      trials: simulated.get(estimator) ?? [],
    })),
    bound: first.map(({ scene, boundPx = 0 }, k) => ({ ...scene, x: points[k].x, y: boundPx })),
    trials,
    isDone,
  });
  yield lines(0, false);
  await seen;
  await settled(signal, firstLookMs);
  const rounds = roundsTo(most);
  const looks = [
    { names: quick, trials: firstLookFrames },
    ...(slow.length > 0 ? [{ names: slow, trials: firstLookFrames }] : []),
    ...rounds.map((trials) => ({ names: estimators, trials })),
  ];
  for (const look of wantedOf(looks)) {
    const { names, trials } = look;
    const isFirst = look === looks[0];
    // These formulas take longer than the first frames of the quick ways.
    if (!isFirst && slow.some((name) => !formulas.has(name))) {
      await addFormulas(slow, 1, false);
      if (simulated.size > 0) yield lines(looks[0].trials, false);
    }
    const isLast = look === looks[looks.length - 1];
    const found: (readonly SweepRow[] | undefined)[] = Array.from({ length: points.length });
    const show = (): void => {
      for (const name of names)
        simulated.set(
          name,
          found.flatMap((rows = [], k) =>
            rows.filter(({ estimator }) => estimator === name).map((row) => ({ x: points[k].x, row })),
          ),
        );
    };
    const cells = points.map(({ x, setting }, k) => ({
      cell: cellOf(rig, setting, names, trials),
      k,
      far: Math.abs(x - chosenX),
    }));
    if (isFirst) cells.sort((a, b) => a.far - b.far);
    const coming = cells.map(async ({ cell, k }) => {
      found[k] = await (isFirst ? team.runFirst(signal, 'cell', cell) : team.run(signal, 'cell', cell));
    });
    const all = Promise.all(coming);
    if (isFirst) {
      all.catch(() => undefined);
      await coming[0];
      show();
      yield lines(trials, false);
    }
    await all;
    show();
    yield lines(trials, isLast);
  }
}

/** A list in parts of so many. */
function partsOf<Each>(all: readonly Each[], perPart: number): (readonly Each[])[] {
  const parts = Array.from({ length: Math.ceil(all.length / perPart) }, (_, i) => i * perPart);
  return parts.map((from) => all.slice(from, from + perPart));
}
