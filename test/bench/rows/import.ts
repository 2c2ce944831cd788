/**
 * Import of the whole library in a fresh Node, by the clock of the parent process, against a Node that does
 * nothing. The goal is a difference, 60 ms, and no ratio: it stands in the line about agreement. Also by the
 * child's clock, around the import.
 */
import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { findPython } from '../reference-process.ts';
import { MissingProgram, type Row, type Side } from '../row.ts';
import { spreadOf } from '../spread.ts';

/** From here the packages are found as from any that depends on them. */
const cwd = fileURLToPath(new URL('../..', import.meta.url));

const aboveBareGoalMs = 60;

interface Starts extends Side {
  readonly timesMs: number[];
  /** What each process printed. */
  readonly numbers: number[];
}

export const row: Row = {
  name: 'import',
  work: 'process that imports @holdfast/sim and ends',
  unit: 'start',
  sliceS: 0.3,
  repeats: 15,
  prepare() {
    const ours = starts(process.execPath, [
      '-e',
      "const t = process.hrtime.bigint(); import('@holdfast/sim').then(() => console.log(Number(process.hrtime.bigint() - t) / 1e6))",
    ]);
    const bare = starts(process.execPath, ['-e', 'console.log(0)']);
    return {
      ours,
      references: [
        { label: 'Node that imports nothing', start: () => bare },
        {
          label: 'Python that imports numpy, scipy.ndimage, scipy.optimize',
          start() {
            const python = findPython();
            if (python === undefined) throw new MissingProgram('python3 with numpy and scipy');
            return starts(python.command, ['-c', 'import numpy, scipy.ndimage, scipy.optimize; print(0)']);
          },
        },
      ],
      agreement() {
        const [whole, nothing, inside] = [ours.timesMs, bare.timesMs, ours.numbers].map(
          (times) => spreadOf(times).median,
        );
        const above = whole - nothing;
        return (
          `medians of ${ours.timesMs.length}: ${above.toFixed(0)} ms above bare Node (${nothing.toFixed(0)} ms), ` +
          `${inside.toFixed(0)} ms by the clock around the import; goal ${aboveBareGoalMs} ms ${above <= aboveBareGoalMs ? 'met' : 'missed'}`
        );
      },
    };
  },
};

function starts(command: string, args: readonly string[]): Starts {
  const timesMs: number[] = [];
  const numbers: number[] = [];
  return {
    timesMs,
    numbers,
    run(count) {
      let seconds = 0;
      for (let i = 0; i < count; i++) {
        const begin = performance.now();
        const { status, stdout, stderr } = spawnSync(command, args, { cwd, encoding: 'utf8' });
        const taken = performance.now() - begin;
        if (status !== 0) throw new Error(`${command} ${args.join(' ')} failed:\n${stderr}`);
        timesMs.push(taken);
        numbers.push(Number(stdout));
        seconds += taken / 1000;
      }
      return seconds;
    },
  };
}
