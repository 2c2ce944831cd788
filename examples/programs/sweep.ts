/** Sweep the error of the guide star's position over a grid, in parallel, into a file that survives a kill. */
import { constants } from 'node:os';
import { inCellOrder, type Rig, type SweepRow, sweep, sweepCells, sweepToCsv } from '@holdfast/sim';
import { sweepToArrow } from '@holdfast/sim/arrow';
import { withError } from '@holdfast/sim/internal';
import { sweepWorkers } from '@holdfast/sim/workers';
import { figureDocument, svgFileText } from '../figures/figure-document.ts';
import { svgToPng } from '../figures/svg-to-png.ts';
import { sweepFigure } from '../figures/sweep-figure.ts';
import { textTable } from '../reports/text-table.ts';
import { UnusableInput } from './command-line/command-line.ts';
import { progressLine } from './command-line/progress-line.ts';
import { readRig } from './command-line/read-rig.ts';
import { runProgram } from './command-line/run-program.ts';
import { readSweepCommand, type SweepCommand, sweepHelp } from './command-line/sweep-command.ts';
import { openSweepFile } from './command-line/sweep-file.ts';
import { writeSafely } from './command-line/write-safely.ts';

/** Signals that ask a sweep to end: finished cells stay, and the same command resumes. */
const endingSignals = ['SIGHUP', 'SIGINT', 'SIGTERM'] as const;

runProgram(async (args) => {
  const command = readSweepCommand(args);
  if (command.help) {
    console.log(sweepHelp);
    return;
  }
  const rig = readRig(command.rig);
  const rows = await runSweep(rig, command);
  if (rows === undefined) return;
  if (command.csv !== undefined) writeSafely(command.csv, sweepToCsv(rows));
  if (command.arrow !== undefined) writeSafely(command.arrow, sweepToArrow(rows));
  if (command.figure !== undefined) writeFigure(command.figure, rig, rows, Object.keys(command.axes));
  if (command.json) for (const row of rows) console.log(JSON.stringify(row));
  else console.log(tableOf(rows).join('\n'));
});

/** All rows in the order of their cells, or undefined when interrupted. */
async function runSweep(rig: Rig, command: SweepCommand): Promise<SweepRow[] | undefined> {
  const { axes, seed, trials, relativePrecision, out, repair, part, workers } = command;
  const plan = { axes, seed, trials, relativePrecision };
  const all = checked(() => sweepCells(rig, plan));
  const [{ plan: name, estimators }] = all;
  const shape = { plan: name, cells: all.length, rowsPerCell: estimators.length, repair };
  const file = out === undefined ? undefined : await openSweepFile(out, shape);
  if (file?.repaired) console.error(`computing again what was damaged in ${out}:\n${file.repaired}`);
  const rows = [...(file?.rows ?? [])];
  const control = new AbortController();
  const interrupt = (signal: NodeJS.Signals) => control.abort(signal);
  for (const signal of endingSignals) process.once(signal, interrupt);
  const progress = progressLine(process.stderr);
  const runner = sweepWorkers(workers === undefined ? {} : { size: workers });
  try {
    let cell: SweepRow[] = [];
    const run = { runner, signal: control.signal, onProgress: progress.update };
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
    progress.clear();
    for (const signal of endingSignals) process.removeListener(signal, interrupt);
    await runner.close();
  }
  file?.finish(rows);
  file?.close();
  return inCellOrder(rows);
}

/** The figure as SVG, or as a PNG of twice its size when the file's name ends so. */
function writeFigure(file: string, rig: Rig, rows: readonly SweepRow[], axes: readonly string[]): void {
  const figure = checked(() => sweepFigure(rig, rows, axes, { document: figureDocument(), paper: true }));
  const svg = svgFileText(figure);
  writeSafely(file, file.toLowerCase().endsWith('.png') ? svgToPng(svg) : svg);
}

/** What the library refuses of the axes is the user's to mend. */
function checked<T>(make: () => T): T {
  try {
    return make();
  } catch (error) {
    if (error instanceof RangeError) throw new UnusableInput(error.message);
    throw error;
  }
}

function tableOf(rows: readonly SweepRow[]): string[] {
  const head = ['shift', 'obstruction', 'ring', 'SNR', 'estimator', 'rms error', 'lost', 'rms / bound'];
  const units = ['um', '', 'px', '', '', 'px', '%', ''];
  return textTable([
    head,
    units,
    ...rows.map((row) => [
      String(row.focusShiftUm),
      row.obstructionRatio.toFixed(2),
      row.outerDiameterPx.toFixed(1),
      row.snr.toFixed(1),
      row.estimator,
      row.noiseEquivalentPx ? withError(row.noiseEquivalentPx) : 'none',
      (100 * row.lostFraction.value).toFixed(1),
      row.boundRatio ? withError(row.boundRatio) : 'none',
    ]),
  ]);
}
