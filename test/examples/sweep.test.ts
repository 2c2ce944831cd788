import { spawnSync } from 'node:child_process';
import { closeSync, copyFileSync, openSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { readSweepRecord, sweepFromCsv } from '@holdfast/sim';
import { sweepFromArrow } from '@holdfast/sim/arrow';
import { beforeAll, describe, expect, test } from 'vitest';
import { answerHere, freshFolder, holdfast, type Run, refusalHere, runExample } from './run-example.ts';
import { here, quick, running, textOf } from './small-sweep.ts';

/** An undisturbed sweep with all that it can write: one run for all tests. */
const whole = freshFolder();
let run: Run;
let text: string;
beforeAll(() => {
  const files = ['--out', 'whole.jsonl', '--csv', 'rows.csv', '--arrow', 'rows.arrow'];
  run = runExample('sweep', [...here, ...files, '--json'], whole);
  text = textOf(whole, 'whole.jsonl');
});

/** A folder with the result file of that sweep: a run that names it has nothing left to compute. */
function folderWithResult(): string {
  const folder = freshFolder();
  copyFileSync(join(whole, 'whole.jsonl'), join(folder, 'whole.jsonl'));
  return folder;
}

describe('a sweep from the command line', () => {
  test.each([2, 8])('gives with %i workers the bytes of one', async (workers) => {
    expect(run.stderr).toBe('');
    expect(run.status).toBe(0);
    expect(text.trim().split('\n')).toHaveLength(12);
    const folder = freshFolder();
    await answerHere('sweep', [...quick, '--workers', `${workers}`, '--out', 'out.jsonl'], folder);
    expect(textOf(folder, 'out.jsonl')).toBe(text);
  });
  test('its CSV and Arrow tables hold exactly the rows of the result file', () => {
    const record = readSweepRecord(text);
    const rows = record.ok ? record.rows : [];
    expect(rows).toHaveLength(12);
    expect(sweepFromCsv(textOf(whole, 'rows.csv'))).toEqual(rows);
    expect(sweepFromArrow(new Uint8Array(readFileSync(join(whole, 'rows.arrow'))))).toEqual(rows);
  });
  test('shares, one after the other, are the whole', async () => {
    // Six units of work: five shares are not alike.
    const folder = freshFolder();
    let joined = '';
    for (const index of [1, 2, 3, 4, 5]) {
      const out = `part-${index}.jsonl`;
      await answerHere('sweep', [...here, '--part', `${index}/5`, '--out', out], folder);
      joined += textOf(folder, out);
    }
    expect(joined).toBe(text);
  });
  test('a file that breaks off in the middle of a row is mended and continued', async () => {
    const folder = freshFolder();
    // whole rows of three cells, then the first row of the fourth and half of its second
    const lines = text.split('\n');
    writeFileSync(join(folder, 'cut.jsonl'), `${lines.slice(0, 7).join('\n')}\n${lines[7].slice(0, 100)}`);
    await answerHere('sweep', [...here, '--out', 'cut.jsonl'], folder);
    expect(textOf(folder, 'cut.jsonl')).toBe(text);
  });
  test('--json prints the rows, --help every option', () => {
    expect(
      run.stdout
        .trim()
        .split('\n')
        .map((line) => JSON.parse(line).cell),
    ).toHaveLength(12);
    const { stdout } = runExample('sweep', ['--help']);
    for (const option of [
      'axis',
      'trials',
      'precision',
      'out',
      'part',
      'workers',
      'csv',
      'arrow',
      'figure',
      'json',
    ])
      expect(stdout).toContain(`--${option}`);
  });
});

describe('what cannot be used is named, ends with 2, and loses nothing', () => {
  const refused = (args: readonly string[], folder?: string) => refusalHere('sweep', args, folder);
  test.each([
    [['--axis', 'focusShiftUm='], /--axis must be NAME=values, got focusShiftUm=/],
    [['--axis', 'focusShiftUm=1,x'], /--axis focusShiftUm must hold numbers, got "x"/],
    [['--axis', 'focusShiftUm=1:2'], /from:to:count/],
    [['--axis', 'shift=1'], /axes\.shift must be one of focusShiftUm/],
    [['--axis', 'estimator=best'], /axes\.estimator\[0\] must be your own or one of/],
    [
      ['--axis', 'snr=0:1:90000', '--axis', 'focusShiftUm=0:1:90000'],
      /at most 1000000 cells, got 8100000000/,
    ],
    [['--trials', '1e12'], /--trials must be a whole number/],
    [['--part', '3/2'], /--part must be I\/N/],
    [
      ['--axis', 'focusShiftUm=5', '--trials', '64', '--figure', 'none.svg'],
      /a figure needs an axis that varies/,
    ],
    [['--workers', '0'], /--workers must be a whole number from 1/],
  ])('%j', async (args, message) => {
    expect(await refused(args)).toMatch(message);
  });
  test('the result file of another sweep is left as it is', async () => {
    const folder = folderWithResult();
    expect(await refused([...quick, '--seed', 'other', '--out', 'whole.jsonl'], folder)).toMatch(
      /left as it is: line 1 belongs to sweep/,
    );
    expect(textOf(folder, 'whole.jsonl')).toBe(text);
  });
  test('a file that is no result file is left as it is', async () => {
    const folder = freshFolder();
    writeFileSync(join(folder, 'notes.jsonl'), 'my notes\n');
    expect(await refused([...quick, '--out', 'notes.jsonl'], folder)).toMatch(
      /line 1 is no row of a sweep: "my notes"/,
    );
    expect(textOf(folder, 'notes.jsonl')).toBe('my notes\n');
  });
  test('changed, repeated and foreign rows are named by line, or computed again', async () => {
    const folder = freshFolder();
    const lines = text.trim().split('\n');
    const out = join(folder, 'damaged.jsonl');
    const swap = (at: number, from: RegExp, to: string) => lines[at].replace(from, to);
    const spoilt: [string, RegExp][] = [
      [swap(2, /"value":\d/, '"value":9'), /line 3 does not match its checksum/],
      [swap(2, /"cell":1,/, '"cell":777,'), /line 3 does not match its checksum/],
      [lines[1], /line 3 repeats a row of cell 0/],
      ['{"plan":"x","cell":1}', /line 3 does not match its checksum/],
      ['\u001b[31m', /line 3 is no row of a sweep: "\\u001b\[31m"/],
    ];
    for (const [line, message] of spoilt) {
      const damaged = [...lines.slice(0, 2), line, ...lines.slice(3), ''].join('\n');
      writeFileSync(out, damaged);
      expect(await refused([...quick, '--out', 'damaged.jsonl'], folder)).toMatch(message);
      expect(readFileSync(out, 'utf8')).toBe(damaged);
    }
    const mended = runExample('sweep', [...here, '--out', 'damaged.jsonl', '--repair'], folder);
    expect(mended.status).toBe(0);
    expect(mended.stderr).toMatch(/computing again what was damaged .*\nline 3 is no row/);
    expect(readFileSync(out, 'utf8')).toBe(text);
  });
});

describe('one writer, and no failed write goes unseen', () => {
  test('an output that cannot be written is told before any work', () => {
    const folder = freshFolder();
    const run = runExample('sweep', [...quick, '--out', 'none/out.jsonl'], folder);
    expect(run.status).toBe(2);
    expect(run.stderr).toMatch(/cannot write none\/out\.jsonl/);
  });
  test('a full disk ends with 1 and says which output failed: the result file, a table, the terminal', () => {
    const full = (args: readonly string[], folder?: string) =>
      runExample('sweep', [...here, ...args], folder);
    expect(full(['--out', '/dev/full'])).toMatchObject({
      status: 1,
      stderr: expect.stringMatching(/cannot write on \/dev\/full: .*ENOSPC.*run the same command again/s),
    });
    const known = ['--out', 'whole.jsonl'];
    expect(full([...known, '--csv', '/dev/full'], folderWithResult())).toMatchObject({
      status: 1,
      stderr: expect.stringMatching(/cannot write \/dev\/full: .*ENOSPC/),
    });
    for (const last of ['--json', '--help']) {
      const disk = openSync('/dev/full', 'w');
      const run = spawnSync(process.execPath, [holdfast, 'sweep', ...here, ...known, last], {
        cwd: folderWithResult(),
        stdio: ['ignore', disk, 'pipe'],
        encoding: 'utf8',
      });
      closeSync(disk);
      expect(run.status).toBe(1);
      expect(run.stderr).toMatch(/cannot write to standard output: .*ENOSPC/);
    }
  });
  test('a reader that closes the pipe early is no failure', async () => {
    const { child, ended } = running([...here, '--out', 'whole.jsonl', '--json'], folderWithResult());
    child.stdout.destroy();
    expect(await ended).toEqual({ status: 0, stderr: '' });
  });
});
