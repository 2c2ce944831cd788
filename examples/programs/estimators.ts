/** How near does each estimator come to the least possible error, for rings of all sizes, faint and bright? */
import { accessSync, constants } from 'node:fs';
import { dirname } from 'node:path';
import { parseArgs } from 'node:util';
import { estimatorFigure } from '../figures/estimator-figure.ts';
import { figureDocument, svgFileText } from '../figures/figure-document.ts';
import {
  type Compared,
  type ComparedCell,
  comparedNames,
  compareEstimators,
  scenery,
} from '../reports/estimator-comparison.ts';
import { goalText, judge } from '../reports/estimator-goal.ts';
import { textTable } from '../reports/text-table.ts';
import { UnusableInput } from './command-line/command-line.ts';
import { progressLine } from './command-line/progress-line.ts';
import { runProgram } from './command-line/run-program.ts';
import { writeSafely } from './command-line/write-safely.ts';

const help = `How near does each estimator come to the least possible error, for rings of all sizes, faint and bright?

  node examples/dist/programs/estimators.js [options]

Draws frames of out-of-focus stars (outer diameter 0 to 40 px, obstruction ratio ${scenery.obstructionRatio}, blur of FWHM ${scenery.blurFwhmPx} px, ${scenery.backgroundE} electrons of
background a pixel, read noise 1.5 electrons) at flux over its least error of 5 to 500, measures each with every estimator
at its best setting for that star, and compares the rms error with the Cramer-Rao bound.

  --frames N         frames a cell, 16 to 1000000. Default: 256, some 40 s
  --seed WORD        seed of the random numbers: the same seed gives the same result. Default: 1
  --figure FILE.svg  draw the ratio of error and bound over the ring's diameter
  --json             print everything as JSON instead of text
  --help             this text

Ends with 0 when it has answered, 2 when an option is not usable or the figure cannot be written.`;

runProgram(async (args) => {
  const { frames, seed, figure, json, help: asked } = readOptions(args);
  if (asked) {
    console.log(help);
    return;
  }
  if (figure !== undefined) requireFolder(figure);
  const progress = progressLine(process.stderr);
  const cells = compareEstimators({ frames, seed, onProgress: progress.update });
  progress.clear();
  if (figure !== undefined)
    writeSafely(figure, svgFileText(estimatorFigure(cells, { document: figureDocument(), paper: true })));
  if (json)
    console.log(JSON.stringify({ scenery, frames, seed, cells, goal: cells.map(judge) }, undefined, 2));
  else console.log([...tableOf(cells), '', ...goalText(cells)].join('\n'));
});

/** Before the work, not after it. */
function requireFolder(file: string): void {
  try {
    accessSync(dirname(file), constants.W_OK);
  } catch (error) {
    throw new UnusableInput(`cannot write ${file}: ${(error as Error).message}`);
  }
}

function readOptions(args: readonly string[]) {
  try {
    const { values } = parseArgs({
      args: [...args],
      allowPositionals: false,
      options: {
        frames: { type: 'string', default: '256' },
        seed: { type: 'string', default: '1' },
        figure: { type: 'string' },
        json: { type: 'boolean', default: false },
        help: { type: 'boolean', default: false },
      },
    });
    const frames = Number(values.frames);
    if (!Number.isInteger(frames) || frames < 16 || frames > 1_000_000)
      throw new Error(`--frames must be a whole number from 16 to 1000000, got ${values.frames}`);
    for (const name of ['seed', 'figure'] as const)
      if (values[name] === '') throw new Error(`--${name} must not be empty`);
    return { ...values, frames };
  } catch (error) {
    throw new UnusableInput(`${(error as Error).message}\nTry --help.`);
  }
}

function tableOf(cells: readonly ComparedCell[]): string[] {
  const names = Object.entries(comparedNames);
  return [
    'Rms error over the least possible; in brackets the share of frames without a position.',
    '',
    ...textTable([
      ['ring', 'SNR', 'flux', 'least', ...names.map(([, label]) => label)],
      ['px', '', 'e', 'px', ...names.map(() => '')],
      ...cells.map((cell) => [
        String(cell.outerDiameterPx),
        String(cell.snr),
        cell.fluxE.toFixed(0),
        cell.boundPx.toFixed(4),
        ...names.map(([name]) => ratioText(cell.estimators.find(({ estimator }) => estimator === name))),
      ]),
    ]),
  ];
}

function ratioText(compared: Compared | undefined): string {
  if (compared?.boundRatio === undefined) return 'none';
  const { boundRatio, lostFraction } = compared;
  const lost = lostFraction >= 0.005 ? ` (${(100 * lostFraction).toFixed(0)} %)` : '';
  return `${boundRatio.toFixed(2)}${lost}`;
}
