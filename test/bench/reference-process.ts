/**
 * References that are programs of their own: Python scripts, and C compiled on the spot. Each reads a count a
 * line from its input, does that many units and answers with one line: seconds that they took by its own
 * clock, then, if it likes, numbers by which to see that the work was the same. Between two lines it waits
 * and takes no time from others.
 */
import { type ChildProcess, execFileSync, spawn, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import { MissingProgram, type Side } from './row.ts';

export interface ReferenceSide extends Side {
  /** What stood behind the seconds in the last answer. */
  readonly numbers: readonly number[];
}

const folder = fileURLToPath(new URL('references/', import.meta.url));

/** Compiled programs and inputs of this run; gone when it ends. */
export const scratchFolder = mkdtempSync(join(tmpdir(), 'bench-'));
process.on('exit', () => rmSync(scratchFolder, { recursive: true, force: true }));

/** A script of references/, run by the first Python that has numpy and scipy. */
export function startPython(script: string, args: readonly string[] = []): ReferenceSide {
  const python = findPython();
  if (python === undefined) throw new MissingProgram('python3 with numpy and scipy');
  return startProcess(python.command, [join(folder, script), ...args]);
}

/** A program of references/, compiled by gcc with these flags (libraries last, as gcc wants them). */
export function startC(
  source: string,
  flags: readonly string[],
  libraries: readonly string[] = [],
  args: readonly string[] = [],
): ReferenceSide {
  if (spawnSync('gcc', ['--version']).status !== 0) throw new MissingProgram('gcc');
  const program = join(scratchFolder, `${source}${flags.join('')}`.replace(/[^\w]/g, '_'));
  const compiled = spawnSync('gcc', [...flags, '-o', program, join(folder, source), ...libraries], {
    encoding: 'utf8',
  });
  if (compiled.status !== 0) {
    const absent = /fatal error: (\S+): No such file/.exec(compiled.stderr);
    if (absent !== null) throw new MissingProgram(absent[1]);
    throw new Error(`gcc cannot compile ${source}:\n${compiled.stderr}`);
  }
  return startProcess(program, args);
}

/** Any program that keeps to the one line in, one line out. */
export function startProcess(command: string, args: readonly string[]): ReferenceSide {
  const child: ChildProcess = spawn(command, args, {
    stdio: ['pipe', 'pipe', 'inherit'],
    // One thread: ours is one too.
    env: { ...process.env, OMP_NUM_THREADS: '1', OPENBLAS_NUM_THREADS: '1', MKL_NUM_THREADS: '1' },
  });
  const { stdin, stdout } = child;
  if (stdin === null || stdout === null) throw new Error(`${command} has no pipes`);
  const lines = createInterface({ input: stdout })[Symbol.asyncIterator]();
  let numbers: readonly number[] = [];
  return {
    get numbers() {
      return numbers;
    },
    async run(count) {
      stdin.write(`${count}\n`);
      const line = await lines.next();
      if (line.done === true) throw new Error(`${[command, ...args].join(' ')} ended without an answer`);
      const [seconds, ...rest] = line.value.trim().split(/\s+/).map(Number);
      if (!(seconds > 0)) throw new Error(`${command} answered ${line.value}`);
      numbers = rest;
      return seconds;
    },
    close() {
      stdin.end();
    },
  };
}

export interface PythonVersions {
  readonly command: string;
  readonly python: string;
  readonly numpy: string;
  readonly scipy: string;
}

let python: PythonVersions | undefined;

/** The first Python that has what the references need; Debian's is the last resort. */
export function findPython(): PythonVersions | undefined {
  const ask = 'import sys, numpy, scipy; print(sys.version.split()[0], numpy.__version__, scipy.__version__)';
  for (const command of ['python3', '/usr/bin/python3']) {
    if (python !== undefined) break;
    try {
      const [version, numpy, scipy] = execFileSync(command, ['-c', ask], {
        encoding: 'utf8',
        stdio: ['ignore', 'pipe', 'ignore'],
      })
        .trim()
        .split(' ');
      python = { command, python: version, numpy, scipy };
    } catch {
      // Not here, or without numpy: the next one.
    }
  }
  return python;
}
