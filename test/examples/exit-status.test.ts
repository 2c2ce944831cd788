/** The table of exit statuses in the guide, row by row. */
import { spawn } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { constants } from 'node:os';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { freshFolder, holdfast, repository, runHoldfast } from './run-example.ts';

const table = [
  ...readFileSync(join(repository, 'docs/machines.md'), 'utf8').matchAll(/^\| (\d+) +\| (.*?) +\|$/gm),
].map(([, status, when]) => [Number(status), when!] as const);

const sweep = [
  'sweep',
  '--axis',
  'focusShiftUm=0:300:12',
  '--axis',
  'estimator=centerOfMass',
  '--workers',
  '2',
];

/** What a shell says of a sweep's part that a signal ended once it had begun to write. */
async function endedBy(signal: 'SIGHUP' | 'SIGINT' | 'SIGTERM' | 'SIGKILL'): Promise<number> {
  const folder = freshFolder();
  const out = join(folder, 'out.jsonl');
  const args = [...sweep, '--part', '1/1', '--trials', '8192', '--out', 'out.jsonl'];
  const child = spawn(process.execPath, [holdfast, ...args], { cwd: folder, stdio: 'ignore' });
  const ended = new Promise<number>((resolve) =>
    child.on('close', (status, by) => resolve(by === null ? (status ?? -1) : 128 + constants.signals[by])),
  );
  while (child.exitCode === null && !(existsSync(out) && readFileSync(out, 'utf8').length > 0))
    await new Promise((resolve) => setTimeout(resolve, 5));
  child.kill(signal);
  return ended;
}

/** For each status, a run that must end with it. */
const runs: Readonly<Record<number, () => number | null | Promise<number>>> = {
  0: () => runHoldfast(['--help']).status,
  2: () => runHoldfast(['sweep', '--trials', 'many']).status,
  1: () => runHoldfast([...sweep, '--trials', '64', '--csv', '/dev/full']).status,
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
