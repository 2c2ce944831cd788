/**
 * A row in a process of its own: what ran before would leave its mark on how the engine compiles what both
 * have in common (a third of the speed of a frame, measured). Run with the name of a row; the result goes to
 * the parent.
 */
import { fork } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import type { Row } from './row.ts';
import { type RowResult, runRow } from './run-row.ts';

const self = fileURLToPath(import.meta.url);

/** @throws when the row does; what went wrong stands on the terminal */
export function runAlone(name: string): Promise<RowResult> {
  return new Promise((resolve, reject) => {
    let result: RowResult | undefined;
    const child = fork(self, [name]);
    child.on('message', (message) => {
      result = message as RowResult;
    });
    child.on('error', reject);
    child.on('close', (status) => {
      if (result !== undefined && status === 0) resolve(result);
      else reject(new Error(`the row's process ended with ${status}`));
    });
  });
}

if (process.argv[1] === self && process.send !== undefined) {
  const { row } = (await import(new URL(`rows/${process.argv[2]}.ts`, import.meta.url).href)) as { row: Row };
  const result = await runRow(row);
  process.send(result, () => process.exit(0));
}
