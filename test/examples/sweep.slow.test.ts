/** More of the sweep program: kills, workers, figures, and two writers on one file. */
import { type ChildProcess, spawnSync } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, test } from 'vitest';
import { sweepThroughKills } from '../soak/killed-sweep.ts';
import { seededNumbers } from '../soak/seeded-numbers.ts';
import { answerHere, freshFolder, holdfast, runExample } from './run-example.ts';
import { here, plain, running, small, textOf } from './small-sweep.ts';

describe('a sweep from the command line', () => {
  let text: string;
  beforeAll(async () => {
    const folder = freshFolder();
    await answerHere('sweep', [...here, '--out', 'whole.jsonl'], folder);
    text = textOf(folder, 'whole.jsonl');
  });
  // `npm run soak` kills a hundred times.
  test('killed ten times at random moments and run again gives the same file', async () => {
    expect(await sweepThroughKills(10, seededNumbers('ten kills'))).toEqual({
      killed: 10,
      cells: 24,
      same: true,
    });
  });
  test('its figures: a map over two axes, lines over one, as SVG and as PNG', async () => {
    const folder = freshFolder();
    await answerHere('sweep', [...here, '--axis', 'obstructionRatio=0.3', '--figure', 'map.svg'], folder);
    const svg = textOf(folder, 'map.svg');
    expect(svg).toMatch(/^<svg [^>]*xmlns="http:\/\/www\.w3\.org\/2000\/svg"/);
    expect(svg).toContain('aria-label="SNR of the star on the sensor');
    for (const series of ['center of mass', 'thresholded center of mass'])
      expect(svg).toContain(`>${series}<`);
    expect(svg).not.toContain('NaN');
    const one = [...plain, '--axis', 'focusShiftUm=0,50,100', '--trials', '64', '--workers', '1'];
    await answerHere('sweep', [...one, '--figure', 'lines.png'], folder);
    const png = readFileSync(join(folder, 'lines.png'));
    expect(png.subarray(0, 8)).toEqual(Buffer.from('\x89PNG\r\n\x1a\n', 'latin1'));
    expect(png.readUInt32BE(16)).toBe(2 * (760 + 32));
  });
  const parallel = spawnSync('parallel', ['--version'], { encoding: 'utf8' });
  test.skipIf(!parallel.stdout?.startsWith('GNU parallel'))(
    'the shares run under GNU parallel (skipped where it is not installed: apt-get install parallel)',
    () => {
      const folder = freshFolder();
      const job = [process.execPath, holdfast, 'sweep', ...here, '--part', '{}/3', '--out', 'part-{}.jsonl'];
      const run = spawnSync('parallel', ['--jobs', '2', job.join(' '), ':::', '1', '2', '3'], {
        cwd: folder,
        encoding: 'utf8',
      });
      expect(run.status).toBe(0);
      expect([1, 2, 3].map((part) => textOf(folder, `part-${part}.jsonl`)).join('')).toBe(text);
    },
  );
});

describe('one writer, and no failed write goes unseen', () => {
  const until = async (ready: () => boolean, child: ChildProcess) => {
    while (!ready()) {
      expect(child.exitCode).toBe(null);
      await new Promise((resolve) => setTimeout(resolve, 5));
    }
  };
  // Rows come at once and go on for minutes, so that the second run always starts beside the first.
  const manyShifts = small.with(small.indexOf('focusShiftUm=0:60:3'), 'focusShiftUm=0:60:2000');
  const long = [...manyShifts, '--trials', '512', '--workers', '2', '--out', 'out.jsonl'];
  // `exit-status.test.ts` ends and resumes a sweep by each signal.
  test('a second run on the same file ends and says so; a signal ends the first with what it has done', async () => {
    const folder = freshFolder();
    const out = join(folder, 'out.jsonl');
    const first = running(long, folder);
    await until(() => existsSync(out) && readFileSync(out, 'utf8').length > 0, first.child);
    const second = runExample('sweep', long, folder);
    expect(second.status).toBe(2);
    expect(second.stderr).toMatch(/out\.jsonl is being written by another run/);
    first.child.kill('SIGTERM');
    expect(await first.ended).toEqual({
      status: 143,
      stderr: 'interrupted: run the same command again to go on from out.jsonl\n',
    });
  });
});
