/**
 * The error of a star's position over a grid: cells run one by one or by workers, rows come as they are
 * ready.
 */
import {
  requireBelow,
  requireFinite,
  requireInteger,
  requireList,
  requireNames,
  requireObject,
  requireText,
} from '@holdfast/psf/numerics';
import { type CancelSignal, type LongWorkOptions, pause } from '../long-work.ts';
import type { EstimatorName, Rig } from '../rig/rig-schema.ts';
import type { AnyEstimator, NameOf } from '../trials/own-estimator.ts';
import { buildScene } from '../trials/scene.ts';
import { runCell, type SweepCell, type SweepRow } from './sweep-cell.ts';
import { sweepFingerprint } from './sweep-fingerprint.ts';
import { gridEstimators, gridSettings, mostCells } from './sweep-grid.ts';
import type { SweepPlan } from './sweep-plan.ts';

/** Runs cells elsewhere; `sweepWorkers` of '@holdfast/sim/workers' makes one. */
export interface CellRunner {
  /** How many cells it can run at a time. */
  readonly size: number;
  /** Run one cell elsewhere. */
  run(cell: SweepCell<AnyEstimator>): Promise<SweepRow<string>[]>;
}

/** A share of a sweep: a run of neighboring cells, so that the shares one after the other are the whole. */
export interface SweepPart {
  /** From 1 to `of`. */
  readonly index: number;
  /** Number of parts, >= 1. */
  readonly of: number;
}

/** How a sweep is run: none of it changes a row. */
export interface SweepRun extends LongWorkOptions {
  /** Default: the calling thread. */
  readonly runner?: CellRunner;
  /** The share of the sweep to run. Default: all of it. */
  readonly part?: SweepPart;
  /** Cells that are done already, from an earlier run: they are left out. */
  readonly done?: ReadonlySet<number>;
}

/** What a sweep is, and how it is run. */
export type SweepOptions<Estimator extends AnyEstimator = EstimatorName> = SweepPlan<Estimator> & SweepRun;

/**
 * Run a sweep; the rows of a cell come together, as soon as it is done, in any order of cells when there are
 * workers.
 *
 * ```ts
 * for await (const row of sweep(rig, { axes: { focusShiftUm: [0, 100, 200], snr: [10, 50] }, seed: 1 }))
 *   console.log(row.focusShiftUm, row.estimator, row.noiseEquivalentPx)
 * ```
 * @throws RangeError for axes that `gridSettings` refuses, a part that does not exist, trials out of range
 */
export async function* sweep<Estimator extends AnyEstimator = EstimatorName>(
  rig: Rig,
  { runner, onProgress, signal, part, done, ...plan }: SweepOptions<Estimator>,
): AsyncGenerator<SweepRow<NameOf<Estimator>>, void, undefined> {
  const all = sweepCells(rig, plan);
  const mine = cellsOfPart(all, part).filter(({ cell }) => !done?.has(cell));
  const started = performance.now();
  let finished = 0;
  const report = () => {
    finished++;
    const secondsPerCell = (performance.now() - started) / 1000 / finished;
    onProgress?.({
      task: 'sweep',
      done: finished,
      total: mine.length,
      secondsLeft: secondsPerCell * (mine.length - finished),
    });
  };
  if (runner === undefined) {
    for (const cell of mine) {
      await pause(signal);
      yield* runCell(cell);
      report();
    }
    return;
  }
  for await (const rows of inParallel(largestFirst(mine), runner, signal)) {
    yield* rows as SweepRow<NameOf<Estimator>>[];
    report();
  }
}

/** All cells of a sweep, in order. */
export function sweepCells<Estimator extends AnyEstimator = EstimatorName>(
  rig: Rig,
  plan: SweepPlan<Estimator>,
): SweepCell<Estimator>[] {
  const {
    axes = {},
    settings,
    ownStar,
    ...trials
  } = requireNames('plan', plan, 'ownStar axes settings seed trials relativePrecision');
  if (settings !== undefined) requireList('settings', settings);
  if (typeof plan.seed === 'number') requireFinite('seed', plan.seed);
  else if (plan.seed !== undefined) requireText('seed', plan.seed);
  if (plan.trials !== undefined) requireInteger('trials', plan.trials, 1, 1e7);
  if (plan.relativePrecision !== undefined) requireBelow('relativePrecision', plan.relativePrecision, 0, 1);
  requireObject('axes', axes);
  const scenes = settings ?? gridSettings(axes);
  if (scenes.length === 0 || scenes.length > mostCells)
    throw new RangeError(`settings must hold 1 to ${mostCells} settings, got ${scenes.length}`);
  const estimators = gridEstimators(axes);
  const name = sweepFingerprint(rig, plan);
  const star = ownStar === undefined ? {} : { ownStar };
  return scenes.map((setting, cell) => ({
    cell,
    plan: name,
    rig,
    setting: { ...setting, ...star },
    estimators,
    ...trials,
  }));
}

/** The cells of a part; all parts together are all cells, none twice. */
function cellsOfPart<Cell>(cells: readonly Cell[], part: SweepPart | undefined): Cell[] {
  const { index, of } = part ?? { index: 1, of: 1 };
  if (!(Number.isInteger(of) && of >= 1 && Number.isInteger(index) && index >= 1 && index <= of))
    throw new RangeError(`part must be i/n with whole numbers 1 <= i <= n, got ${index}/${of}`);
  return cells.slice(Math.floor(((index - 1) * cells.length) / of), Math.floor((index * cells.length) / of));
}

/**
 * The cells with the most pixels first: they take longest, and one that came last would keep one worker busy
 * while the others wait. (By the times of the nine cells of the example, two workers are 1.8 times as fast as
 * one in order, 1.94 like this.)
 */
function largestFirst(cells: readonly SweepCell<AnyEstimator>[]): SweepCell<AnyEstimator>[] {
  const pixels = new Map(
    cells.map((cell) => {
      const { width, height } = buildScene(cell.rig, cell.setting);
      return [cell, width * height];
    }),
  );
  return [...cells].sort((one, two) => (pixels.get(two) ?? 0) - (pixels.get(one) ?? 0));
}

/** Keep the runner busy, hand on what is done; after an error or an abort nothing new is started. */
async function* inParallel(
  cells: readonly SweepCell<AnyEstimator>[],
  runner: CellRunner,
  signal: CancelSignal | undefined,
): AsyncGenerator<SweepRow<string>[], void, undefined> {
  const running = new Map<number, Promise<{ cell: number; rows: SweepRow<string>[] }>>();
  let next = 0;
  const fill = () => {
    // One waiting cell a worker hides the time that a message takes.
    for (; next < cells.length && running.size < 2 * runner.size; next++) {
      const { cell } = cells[next];
      running.set(
        cell,
        runner.run(cells[next]).then((rows) => ({ cell, rows })),
      );
    }
  };
  try {
    for (fill(); running.size > 0; fill()) {
      signal?.throwIfAborted();
      const { cell, rows } = await Promise.race(running.values());
      running.delete(cell);
      signal?.throwIfAborted();
      yield rows;
    }
  } finally {
    // What still runs is of no more interest, and must not end as an unhandled rejection.
    for (const left of running.values()) left.catch(() => undefined);
  }
}
