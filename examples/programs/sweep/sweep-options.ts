/** Options of the sweep that no other program has: axes of a grid, and a part of it. */
import { estimatorNames, type SweepAxes, type SweepPart } from '@holdfast/sim';
import { sceneAxisNames } from '@holdfast/sim/internal';
import { UnusableInput } from '../../reports/unusable-input.ts';
import { flag, many, number, type Option, outFile, toNumber } from '../command-line/option.ts';
import { figureFile, rig, seed } from '../command-line/shared-options.ts';

const part: Option<SweepPart | undefined> = {
  value: 'I/N',
  help: 'compute only part I of N; the result files of all parts, joined in order, are the whole result',
  otherwise: () => undefined,
  read: ([text]) => readPart(text),
};

export const sweepOptions = {
  rig,
  axis: many<SweepAxes>(
    'NAME=...',
    'values of one axis: a list 0,50,100 or a range from:to:count, as 0:400:9. Give it once per axis. ' +
      `${sceneAxisNames.join(', ')}, estimator (${estimatorNames.join(', ')}), thresholdSigma, windowPx`,
    readAxes,
    readAxes(['focusShiftUm=0:400:9']),
    'focusShiftUm=0:400:9',
  ),
  trials: number('N', 'largest number of frames per cell, 64 to 10000000', {
    isWhole: true,
    low: 64,
    high: 1e7,
    default: 1024,
  }),
  precision: number(
    'PCT',
    'end a cell early when the standard error of each noise-equivalent error is at most this many percent of it, for example 2. 0: never',
    {
      low: 0,
      high: 50,
      default: 0,
    },
  ),
  seed,
  out: outFile(
    'FILE.jsonl',
    'result file; when it holds a part of this sweep already, the sweep continues from there',
  ),
  repair: flag('compute cells again whose rows in --out were damaged, instead of refusing the file'),
  part,
  workers: number('N', 'threads', { isWhole: true, low: 1, high: 1024, otherwise: 'one per processor core' }),
  csv: outFile('FILE', 'write the rows as CSV too when the sweep is done'),
  arrow: outFile('FILE', 'write the rows as an Apache Arrow file too'),
  figure: figureFile('draw the error over the first two axes that vary, with the budget line'),
};

function readAxes(given: readonly string[]): SweepAxes {
  const axes: Record<string, readonly (string | number)[]> = {};
  for (const text of given) {
    const [name, list] = text.split(/=(.*)/s);
    if (!list) throw new UnusableInput(`--axis must be NAME=values, got ${text}`);
    if (name in axes) throw new UnusableInput(`--axis ${name} is given twice`);
    axes[name] = name === 'estimator' ? list.split(',') : numbersOf(name, list);
  }
  return axes as SweepAxes;
}

function numbersOf(name: string, list: string): number[] {
  const number = (text: string): number => {
    const value = toNumber(text);
    if (!Number.isFinite(value))
      throw new UnusableInput(`--axis ${name} must hold numbers, got ${JSON.stringify(text)}`);
    return value;
  };
  const range = list.split(':');
  if (range.length === 1) return list.split(',').map(number);
  const [from, to, count] = range.map(number);
  if (range.length !== 3 || !Number.isInteger(count) || count < 2 || count > 100_000)
    throw new UnusableInput(
      `--axis ${name} must be a list or from:to:count with count from 2 to 100000, got ${list}`,
    );
  return Array.from({ length: count }, (_, i) => from + ((to - from) * i) / (count - 1));
}

function readPart(text: string): SweepPart {
  const match = /^(\d+)\/(\d+)$/.exec(text);
  const index = Number(match?.[1]);
  const of = Number(match?.[2]);
  if (!(index >= 1 && index <= of))
    throw new UnusableInput(`--part must be I/N with 1 <= I <= N, got ${text}`);
  return { index, of };
}
