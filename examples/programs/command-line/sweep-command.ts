/** The command line of the sweep: options and their meaning. */
import { parseArgs } from 'node:util';
import { estimatorNames, type SweepAxes, type SweepPart } from '@holdfast/sim';
import { sceneAxisNames } from '@holdfast/sim/internal';
import { UnusableInput } from './command-line.ts';

export const sweepHelp = `The error of the guide star's position over a grid of settings.

  npm run sweep -- [options]

  --rig FILE         rig to start from. Default: examples/rigs/fast-reflector.json
  --axis NAME=...    values of one axis: a list 0,50,100 or a range from:to:count, as 0:400:9. Give it once an axis.
                     ${sceneAxisNames.join(', ')},
                     estimator (${estimatorNames.join(', ')}),
                     thresholdSigma, windowPx
                     Default: focusShiftUm=0:400:9
  --trials N         most frames a cell, 64 to 10000000. Default 1024
  --precision P      stop a cell when every rms is known to this part of itself, as 0.02. Default 0: all trials
  --seed WORD        seed of the random numbers. Default 1
  --out FILE.jsonl   result file; when it holds a part of this sweep already, the sweep goes on from there
  --repair           compute cells again whose rows in --out were damaged, instead of refusing the file
  --part I/N         only the I-th of N shares; the result files of all shares, one after the other, are the whole
  --workers N        threads. Default: one a processor core
  --csv FILE         write the rows as CSV too when the sweep is done
  --arrow FILE       write the rows as an Apache Arrow file too
  --figure FILE.svg  draw the error over the first two axes that vary, with the budget line; .png works too
  --json             print the rows as JSON Lines on standard output instead of a table
  --help             this text

Progress goes to standard error, and only when that is a terminal.
Exit status: 0 all is done; 2 an input, an option or the file of --out is not usable (nothing is lost then); 129, 130 or 143
ended by SIGHUP, SIGINT or SIGTERM (finished cells are in --out); 1 anything else, such as a full disk.`;

export interface SweepCommand {
  readonly rig: string | undefined;
  readonly axes: SweepAxes;
  readonly trials: number;
  readonly relativePrecision: number;
  readonly seed: string;
  readonly out: string | undefined;
  readonly repair: boolean;
  readonly part: SweepPart | undefined;
  readonly workers: number | undefined;
  readonly csv: string | undefined;
  readonly arrow: string | undefined;
  readonly figure: string | undefined;
  readonly json: boolean;
  readonly help: boolean;
}

/** @throws UnusableInput that names the option, the value got and what is allowed */
export function readSweepCommand(args: readonly string[]): SweepCommand {
  const values = parse(args);
  return {
    rig: values.rig,
    axes: readAxes(values.axis ?? ['focusShiftUm=0:400:9']),
    trials: wholeNumber('trials', values.trials, 64, 1e7),
    relativePrecision: between('precision', values.precision, 0, 0.5),
    seed: values.seed,
    out: values.out,
    repair: values.repair,
    part: values.part === undefined ? undefined : readPart(values.part),
    workers: values.workers === undefined ? undefined : wholeNumber('workers', values.workers, 1, 1024),
    csv: values.csv,
    arrow: values.arrow,
    figure: values.figure,
    json: values.json,
    help: values.help,
  };
}

function parse(args: readonly string[]) {
  const text = { type: 'string' } as const;
  try {
    return parseArgs({
      args: [...args],
      allowPositionals: false,
      options: {
        rig: text,
        axis: { type: 'string', multiple: true },
        trials: { type: 'string', default: '1024' },
        precision: { type: 'string', default: '0' },
        seed: { type: 'string', default: '1' },
        out: text,
        repair: { type: 'boolean', default: false },
        part: text,
        workers: text,
        csv: text,
        arrow: text,
        figure: text,
        json: { type: 'boolean', default: false },
        help: { type: 'boolean', default: false },
      },
    }).values;
  } catch (error) {
    throw new UnusableInput(`${(error as Error).message}\nTry --help.`);
  }
}

function readAxes(given: readonly string[]): SweepAxes {
  const axes: Record<string, readonly (string | number)[]> = {};
  for (const text of given) {
    const [name, list] = text.split(/=(.*)/s);
    if (!list) throw new UnusableInput(`--axis must be NAME=values, got ${text}`);
    if (name in axes) throw new UnusableInput(`--axis ${name} is given twice`);
    axes[name] = name === 'estimator' ? list.split(',') : numbers(name, list);
  }
  return axes as SweepAxes;
}

function numbers(name: string, list: string): number[] {
  const range = list.split(':');
  if (range.length === 1) return list.split(',').map((value) => toNumber(name, value));
  const [from, to, count] = range.map((value) => toNumber(name, value));
  if (range.length !== 3 || !Number.isInteger(count) || count < 2 || count > 100_000)
    throw new UnusableInput(
      `--axis ${name} must be a list or from:to:count with count from 2 to 100000, got ${list}`,
    );
  return Array.from({ length: count }, (_, i) => from + ((to - from) * i) / (count - 1));
}

function toNumber(name: string, text: string): number {
  const value = text.trim() === '' ? Number.NaN : Number(text);
  if (!Number.isFinite(value))
    throw new UnusableInput(`--axis ${name} must hold numbers, got ${JSON.stringify(text)}`);
  return value;
}

function readPart(text: string): SweepPart {
  const match = /^(\d+)\/(\d+)$/.exec(text);
  const index = Number(match?.[1]);
  const of = Number(match?.[2]);
  if (!(index >= 1 && index <= of))
    throw new UnusableInput(`--part must be I/N with 1 <= I <= N, got ${text}`);
  return { index, of };
}

function wholeNumber(name: string, text: string, low: number, high: number): number {
  const value = Number(text);
  if (!Number.isInteger(value) || value < low || value > high)
    throw new UnusableInput(`--${name} must be a whole number from ${low} to ${high}, got ${text}`);
  return value;
}

function between(name: string, text: string, low: number, high: number): number {
  const value = Number(text);
  if (!(value >= low && value <= high))
    throw new UnusableInput(`--${name} must be from ${low} to ${high}, got ${text}`);
  return value;
}
