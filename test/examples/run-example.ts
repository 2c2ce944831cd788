/** Runs a built example as a user would, in a folder of its own. */
import { spawnSync } from 'node:child_process';
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

export interface Run {
  readonly status: number | null;
  readonly stdout: string;
  readonly stderr: string;
}

export const repository = fileURLToPath(new URL('../..', import.meta.url));

/** The built program; the name of a question and its options follow. */
export const holdfast = join(repository, 'examples/dist/programs/holdfast.js');

export const freshFolder = (): string => mkdtempSync(join(tmpdir(), 'holdfast-'));

export const runExample = (name: string, args: readonly string[], cwd?: string): Run =>
  runHoldfast([name, ...args], cwd);

export function runHoldfast(args: readonly string[], cwd = freshFolder(), environment = {}): Run {
  const { status, stdout, stderr } = spawnSync(process.execPath, [holdfast, ...args], {
    cwd,
    encoding: 'utf8',
    maxBuffer: 1 << 28,
    env: { ...process.env, ...environment },
  });
  return { status, stdout, stderr };
}
