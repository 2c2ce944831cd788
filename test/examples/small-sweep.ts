/** A sweep of twelve rows, for tests of its files. */
import { spawn } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { smallRig } from './plain-rig.ts';
import { holdfast } from './run-example.ts';

/** A star by rays: what is tested here is the file, not the star. */
export const plain = ['--rig', smallRig('fast-reflector')];
export const small = [
  ...plain,
  '--axis',
  'focusShiftUm=0:60:3',
  '--axis',
  'snr=20,60',
  '--axis',
  'estimator=centerOfMass,thresholdedCenterOfMass',
];
export const quick = [...small, '--trials', '64'];

/** The same on the thread of this process. */
export const here = [...quick, '--workers', '1'];
export const textOf = (folder: string, file: string) => readFileSync(join(folder, file), 'utf8');

/** A sweep that has been started. */
export const running = (args: readonly string[], folder: string) => {
  const child = spawn(process.execPath, [holdfast, 'sweep', ...args], { cwd: folder });
  let stderr = '';
  child.stderr.on('data', (text) => {
    stderr += text;
  });
  const ended = new Promise<{ status: number | null; stderr: string }>((resolve) =>
    child.on('close', (status) => resolve({ status, stderr })),
  );
  return { child, ended };
};
