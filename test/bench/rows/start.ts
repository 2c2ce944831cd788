/**
 * The main job as a user starts it, installed and built before: when the advice stands on the terminal, and
 * how much memory it took.
 */
import { spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Row } from '../row.ts';
import { timeGoal } from '../time-goal.ts';

const root = fileURLToPath(new URL('../../..', import.meta.url));
const memoryGoalMB = 300;
/** Each process writes its peak of memory, kB, here when it ends. */
const peaks = 'peak.txt';
const report = `data:text/javascript,import{appendFileSync}from'node:fs';process.on('exit',()=>appendFileSync(process.env.PEAKS,process.resourceUsage().maxRSS+' '+process.argv[1]+';'))`;

export const row: Row = {
  name: 'start',
  work: 'npm start, already set up: from the command to the advice on the terminal',
  unit: 'start',
  sliceS: 1,
  repeats: 5,
  prepare() {
    const scratch = mkdtempSync(join(tmpdir(), 'bench-start-'));
    const env = {
      ...process.env,
      PEAKS: join(scratch, peaks),
      NODE_OPTIONS: `--import "${report}"`,
    };
    /** Seconds until the advice is there; ends with the program. */
    const start = (): Promise<number> =>
      new Promise((resolve, reject) => {
        const begin = performance.now();
        const child = spawn('npm', ['start', '--', '--page', join(scratch, 'page.html')], { cwd: root, env });
        let text = '';
        let advised: number | undefined;
        child.stdout.setEncoding('utf8');
        child.stdout.on('data', (chunk: string) => {
          text += chunk;
          if (advised === undefined && text.includes('Focus limit:'))
            advised = (performance.now() - begin) / 1000;
        });
        child.on('error', reject);
        child.on('close', (status) => {
          if (status === 0 && advised !== undefined) resolve(advised);
          else reject(new Error(`npm start ended with ${status} and no advice`));
        });
      });
    return {
      ours: {
        async run(count) {
          let seconds = 0;
          for (let i = 0; i < count; i++) seconds += await start();
          return seconds;
        },
        close: () => rmSync(scratch, { recursive: true, force: true }),
      },
      references: [timeGoal(3)],
      agreement() {
        const of = readFileSync(join(scratch, peaks), 'utf8')
          .split(';')
          .filter((line) => line.includes('holdfast.mjs'))
          .map((line) => Number(line.split(' ')[0]) / 1024);
        const peak = Math.max(...of);
        return `peak of memory of ${of.length} runs ${peak.toFixed(0)} MB; goal ${memoryGoalMB} MB ${peak <= memoryGoalMB ? 'met' : 'missed'}`;
      },
    };
  },
};
