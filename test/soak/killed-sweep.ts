/** A sweep that is killed at random moments and resumed until it ends. */
import { spawn, spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { smallRig } from '../examples/plain-rig.ts';

const program = fileURLToPath(new URL('../../examples/dist/programs/holdfast.js', import.meta.url));

export interface KilledSweep {
  /** Runs that were ended by the kill; the others had ended by themselves, and began again. */
  readonly killed: number;
  readonly cells: number;
  /** Whether each sweep that came to its end had the bytes of an undisturbed one. */
  readonly same: boolean;
}

/**
 * Kill a small sweep at random moments until it was killed `kills` times; whenever it ends, compare and begin
 * anew.
 */
export async function sweepThroughKills(kills: number, uniform: () => number): Promise<KilledSweep> {
  const folder = mkdtempSync(join(tmpdir(), 'holdfast-kills-'));
  const cells = 24;
  const rig = smallRig('fast-reflector');
  const args = (out: string): string[] => [
    program,
    'sweep',
    '--rig',
    rig,
    '--axis',
    `focusShiftUm=0:100:${cells / 2}`,
    '--axis',
    'snr=20,60',
    '--axis',
    'estimator=centerOfMass',
    '--trials',
    '128',
    '--workers',
    '2',
    '--out',
    out,
  ];
  const run = { cwd: folder, stdio: 'ignore' } as const;
  const started = performance.now();
  spawnSync(process.execPath, args('whole.jsonl'), run);
  const wholeMs = performance.now() - started;
  const whole = readFileSync(join(folder, 'whole.jsonl'), 'utf8');
  let killed = 0;
  let same = whole.split('\n').length === cells + 1;
  while (killed < kills && same) {
    const child = spawn(process.execPath, args('out.jsonl'), run);
    const timer = setTimeout(() => child.kill('SIGKILL'), uniform() * 1.1 * wholeMs);
    const signal = await new Promise<NodeJS.Signals | null>((resolve) =>
      child.on('exit', (_, by) => resolve(by)),
    );
    clearTimeout(timer);
    if (signal !== null) killed++;
    else {
      same = readFileSync(join(folder, 'out.jsonl'), 'utf8') === whole;
      rmSync(join(folder, 'out.jsonl'));
    }
  }
  if (same) {
    spawnSync(process.execPath, args('out.jsonl'), run);
    same = readFileSync(join(folder, 'out.jsonl'), 'utf8') === whole;
  }
  rmSync(folder, { recursive: true });
  return { killed, cells, same };
}
