/**
 * Sweep the error of the guide star's position over a grid, in parallel, into a file that survives a kill.
 */
import { constants } from 'node:os';
import { inCellOrder, type SweepRow, sweep, sweepCells, sweepToCsv } from '@holdfast/sim';
import { withError } from '@holdfast/sim/internal';
import { sweepWorkers } from '@holdfast/sim/workers';
import { drawnAxes } from '../../figures/sweep-axes.ts';
import { textTable } from '../../reports/text-table.ts';
import { withUserNumbers } from '../../reports/unusable-input.ts';
import { command, type Surroundings } from '../command-line/command.ts';
import type { Values } from '../command-line/option.ts';
import { writeFigure } from '../command-line/write-figure.ts';
import { writeSafely } from '../command-line/write-safely.ts';
import { openSweepFile } from './sweep-file.ts';
import { sweepOptions } from './sweep-options.ts';

/** Signals that ask a sweep to end: finished cells stay, and the same command resumes. */
const endingSignals = ['SIGHUP', 'SIGINT', 'SIGTERM'] as const;

type Asked = Values<typeof sweepOptions>;

export const sweepGrid = command({
  name: 'sweep',
  question: "The error of the guide star's position over a grid of settings.",
  options: sweepOptions,
  notes: [
    'Progress goes to standard error, and only when that is a terminal. With --json the rows are JSON Lines. A sweep that ' +
      'SIGHUP, SIGINT or SIGTERM ends has exit status 129, 130 or 143; finished cells are in --out.',
  ],
  async run(asked, surroundings) {
    const { rig, axis, csv, arrow, figure } = asked;
    // What cannot be drawn is told before the work, not after it.
    const drawn = figure === undefined ? undefined : withUserNumbers(() => drawnAxes(axis));
    const rows = await runSweep(asked, surroundings);
    if (rows === undefined) return undefined;
    if (csv !== undefined) writeSafely(csv, sweepToCsv(rows));
    // Neither is loaded by who does not ask for it.
    if (arrow !== undefined) writeSafely(arrow, (await import('@holdfast/sim/arrow')).sweepToArrow(rows));
    if (figure !== undefined && drawn !== undefined)
      await writeFigure(figure, async (options) =>
        (await import('../../figures/sweep-figure.ts')).sweepFigure(rig, rows, drawn, options),
      );
    return { data: rows, isLines: true, text: () => tableOf(rows) };
  },
});

/** All rows in the order of their cells, or undefined when interrupted. */
async function runSweep(
  { rig, axis: axes, seed, trials, precision, out, repair, part, workers }: Asked,
  { onProgress }: Surroundings,
): Promise<SweepRow[] | undefined> {
  const plan = { axes, seed, trials, relativePrecision: precision / 100 };
  const all = withUserNumbers(() => sweepCells(rig, plan));
  const [{ plan: name, estimators }] = all;
  const shape = { plan: name, cells: all.length, rowsPerCell: estimators.length, repair };
  const file = out === undefined ? undefined : await openSweepFile(out, shape);
  if (file?.repaired) console.error(`computing again what was damaged in ${out}:\n${file.repaired}`);
  const rows = [...(file?.rows ?? [])];
  const control = new AbortController();
  const interrupt = (signal: NodeJS.Signals) => control.abort(signal);
  for (const signal of endingSignals) process.once(signal, interrupt);
  // One thread is this one.
  const runner = workers === 1 ? undefined : sweepWorkers(workers === undefined ? {} : { size: workers });
  try {
    let cell: SweepRow[] = [];
    const run = {
      ...(runner ? { runner } : {}),
      signal: control.signal,
      ...(onProgress ? { onProgress } : {}),
    };
    const options = { ...plan, ...run, ...(part ? { part } : {}), ...(file ? { done: file.done } : {}) };
    for await (const row of sweep(rig, options)) {
      cell.push(row);
      if (cell.length < estimators.length) continue;
      file?.append(cell);
      rows.push(...cell);
      cell = [];
    }
  } catch (error) {
    if (!control.signal.aborted) throw error;
    console.error(
      out === undefined ? 'interrupted' : `interrupted: run the same command again to go on from ${out}`,
    );
    process.exitCode = 128 + constants.signals[control.signal.reason as NodeJS.Signals];
    return undefined;
  } finally {
    for (const signal of endingSignals) process.removeListener(signal, interrupt);
    await runner?.close();
  }
  file?.finish(rows);
  file?.close();
  return inCellOrder(rows);
}

function tableOf(rows: readonly SweepRow[]): string[] {
  const head = [
    'shift',
    'obstruction',
    'ring',
    'SNR',
    'estimator',
    'scatter',
    'response',
    'noise-eq.',
    'lost',
    'noise-eq. / bound',
    'worth',
  ];
  const units = ['µm', '', 'px', '', '', 'px', '', 'px', '%', '', 'frames'];
  return textTable([
    head,
    units,
    ...rows.map((row) => [
      String(row.focusShiftUm),
      row.obstructionRatio.toFixed(2),
      row.outerDiameterPx.toFixed(1),
      row.snr.toFixed(1),
      row.estimator,
      row.scatterPx ? withError(row.scatterPx) : 'none',
      row.responseX ? row.responseX.value.toFixed(2) : 'none',
      row.noiseEquivalentPx
        ? withError(row.noiseEquivalentPx)
        : row.located > 1
          ? 'does not follow the star'
          : 'none',
      (100 * row.lostFraction.value).toFixed(1),
      row.boundRatio ? withError(row.boundRatio) : 'none',
      row.plainTrials === undefined ? 'none' : String(Number(row.plainTrials.toPrecision(2))),
    ]),
  ]);
}
