/** The table of exit statuses in the guide, row by row. */
import { spawn } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { constants } from 'node:os';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { smallRig } from './plain-rig.ts';
import { freshFolder, holdfast, repository, runHoldfast } from './run-example.ts';

const table = [
  ...readFileSync(join(repository, 'docs/machines.md'), 'utf8').matchAll(/^\| (\d+) +\| (.*?) +\|$/gm),
].map(([, status, when]) => [Number(status), when!] as const);

/** One file for all: each run resumes what the ones before it have done. Rows come at once, for minutes. */
const folder = freshFolder();
const out = join(folder, 'out.jsonl');
const rig = ['--rig', smallRig('fast-reflector')];
const sweep = ['sweep', ...rig, '--axis', 'estimator=centerOfMass', '--workers', '1'];

/** What a shell says of a sweep's part that a signal ended once it had begun to write. */
async function endedBy(signal: 'SIGHUP' | 'SIGINT' | 'SIGTERM' | 'SIGKILL'): Promise<number> {
  const lengthNow = () => (existsSync(out) ? readFileSync(out, 'utf8').length : 0);
  const before = lengthNow();
  const grid = ['--axis', 'focusShiftUm=0:60:10000', '--part', '1/1', '--trials', '512'];
  const child = spawn(process.execPath, [holdfast, ...sweep, ...grid, '--out', 'out.jsonl'], { cwd: folder });
  let stderr = '';
  child.stderr.on('data', (text) => {
    stderr += text;
  });
  const ended = new Promise<number>((resolve) =>
    child.on('close', (status, by) => resolve(by === null ? (status ?? -1) : 128 + constants.signals[by])),
  );
  while (child.exitCode === null && lengthNow() <= before)
    await new Promise((resolve) => setTimeout(resolve, 5));
  child.kill(signal);
  const status = await ended;
  expect(stderr).toBe(
    signal === 'SIGKILL' ? '' : 'interrupted: run the same command again to go on from out.jsonl\n',
  );
  return status;
}

/** For each status, a run that must end with it. */
const runs: Readonly<Record<number, () => number | null | Promise<number>>> = {
  0: () => runHoldfast(['--help']).status,
  2: () => runHoldfast(['sweep', '--trials', 'many']).status,
  1: () => runHoldfast([...sweep, '--axis', 'focusShiftUm=0', '--trials', '64', '--csv', '/dev/full']).status,
  129: () => endedBy('SIGHUP'),
  130: () => endedBy('SIGINT'),
  143: () => endedBy('SIGTERM'),
  137: () => endedBy('SIGKILL'),
};

test('the guide lists exactly these', () => {
  expect(table.map(([status]) => status).sort()).toEqual(Object.keys(runs).map(Number).sort());
});

test.each(table)('%d: %s', async (status) => {
  expect(await runs[status]?.()).toBe(status);
});
