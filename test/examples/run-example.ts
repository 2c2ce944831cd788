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

export const freshFolder = (): string => mkdtempSync(join(tmpdir(), 'holdfast-'));

export function runExample(name: string, args: readonly string[], cwd = freshFolder()): Run {
  const { status, stdout, stderr } = spawnSync(
    process.execPath,
    [join(repository, 'examples/dist/programs', `${name}.js`), ...args],
    { cwd, encoding: 'utf8', maxBuffer: 1 << 28 },
  );
  return { status, stdout, stderr };
}
