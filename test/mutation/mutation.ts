/**
 * Whether the tests of the formulas can fail: each formula gets small faults, one at a time, and its tests
 * must notice.
 *
 * `npm run mutation`             all files of `targets.ts`; exit status 1 below 85 % in any of them
 * `npm run mutation -- WORD`     files whose path contains the word
 */
import { type ChildProcess, fork } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { mutantsOf } from './mutants.ts';
import { type Target, targets } from './targets.ts';

const root = fileURLToPath(new URL('../../', import.meta.url));
const leastScore = 0.85;

/** Runs the tests of one target, again and again; started anew after a mutant that did not return. */
class TestRunner {
  private child: ChildProcess | undefined;
  private readonly target: Target;
  constructor(target: Target) {
    this.target = target;
  }

  /** Whether the tests pass; undefined when they do not end within the time. */
  async passes(source: string | null, mostSeconds: number): Promise<boolean | undefined> {
    const child = this.child ?? (await this.start());
    child.send(source as string);
    const answer = await messageOf(child, mostSeconds);
    if (answer === undefined) this.stop();
    return answer as boolean | undefined;
  }

  stop(): void {
    this.child?.kill('SIGKILL');
    this.child = undefined;
  }

  private async start(): Promise<ChildProcess> {
    const child = fork(
      fileURLToPath(new URL('run-mutants.ts', import.meta.url)),
      [root + this.target.file, ...this.target.tests],
      { cwd: root, execArgv: process.execArgv },
    );
    this.child = child;
    await messageOf(child, 600);
    return child;
  }
}

/** What the child says next; undefined when it says nothing within the time, or ends. */
function messageOf(child: ChildProcess, mostSeconds: number): Promise<unknown> {
  return new Promise((resolve) => {
    const settle = (message: unknown): void => {
      clearTimeout(late);
      child.off('message', settle);
      child.off('exit', ended);
      resolve(message);
    };
    const ended = (): void => settle(undefined);
    const late = setTimeout(ended, 1000 * mostSeconds);
    child.on('message', settle);
    child.on('exit', ended);
  });
}

/** The share of the target's mutants that its tests notice; tells of the others as they are found. */
async function scoreOf(target: Target): Promise<number> {
  const mutants = mutantsOf(target.file, readFileSync(root + target.file, 'utf8'));
  const { equivalent = {} } = target;
  const changes = new Set(mutants.map(({ change }) => change));
  for (const change of Object.keys(equivalent))
    if (!changes.has(change)) throw new RangeError(`${target.file} has no mutant: ${change}`);
  const runner = new TestRunner(target);
  let counted = 0;
  let killed = 0;
  try {
    const started = performance.now();
    if (!(await runner.passes(null, 600))) throw new Error(`tests of ${target.file} fail without a mutant`);
    const mostSeconds = 30 + (10 * (performance.now() - started)) / 1000;
    for (const { line, change, source } of mutants) {
      if (change in equivalent) continue;
      counted++;
      if (await runner.passes(source, mostSeconds))
        console.log(`survived: ${target.file}:${line}: ${change}`);
      else killed++;
    }
  } finally {
    runner.stop();
  }
  const left = mutants.length - counted;
  const score = killed / counted;
  console.log(
    `${target.file}: ${killed} of ${counted} mutants killed, ${(100 * score).toFixed(1)} %` +
      (left > 0 ? `; ${left} change nothing that is promised` : ''),
  );
  return score;
}

const word = process.argv[2] ?? '';
let isEnough = true;
for (const target of targets.filter(({ file }) => file.includes(word)))
  if ((await scoreOf(target)) < leastScore) isEnough = false;
process.exit(isEnough ? 0 : 1);
