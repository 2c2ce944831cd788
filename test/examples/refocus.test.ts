import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, test } from 'vitest';
import { freshFolder, type Run, repository, runExample } from './run-example.ts';

const rigs = ['fast-reflector', 'long-two-mirror', 'refractor'];
const rigFile = (name: string) => join(repository, `examples/rigs/${name}.json`);

describe('the main job', () => {
  const folder = freshFolder();
  let run: Run;
  beforeAll(() => {
    run = runExample('refocus', ['--trials', '256'], folder);
  });
  test('advises on every filter of the example rig, with the limit, and says how the numbers came about', () => {
    expect(run.stderr).toBe('');
    expect(run.status).toBe(0);
    for (const filter of ['Luminance', 'Red', 'Green', 'Blue', 'H-alpha', 'O III', 'No filter'])
      expect(run.stdout).toMatch(new RegExp(`^${filter}: (keep|trim|refocus); `, 'm'));
    expect(run.stdout).toMatch(/^Focus limit: \d+(\.\d+)? \[.*\] um either side of focus, a ring of/m);
    expect(run.stdout).toMatch(/256 frames a row, seed 1/);
  });
  test('writes the page where it says', () => {
    expect(run.stdout).toMatch(/Page with figures: holdfast\.html/);
    expect(readFileSync(join(folder, 'holdfast.html'), 'utf8')).toContain('id="holdfast-report"');
    expect(readdirSync(folder)).toEqual(['holdfast.html']);
  });
  test('gives the same text again, and another with another seed', () => {
    const args = ['--trials', '64', '--no-page'];
    const first = runExample('refocus', args).stdout;
    expect(runExample('refocus', args).stdout).toBe(first);
    expect(runExample('refocus', [...args, '--seed', 'other']).stdout).not.toBe(first);
  });
  test.each(rigs)('--json on %s is one JSON value with every number and its error', (name) => {
    const { status, stdout } = runExample('refocus', [
      '--rig',
      rigFile(name),
      '--json',
      '--no-page',
      '--trials',
      '64',
    ]);
    expect(status).toBe(0);
    const { advice, curve, stars } = JSON.parse(stdout);
    expect(advice.filters.length).toBe(JSON.parse(readFileSync(rigFile(name), 'utf8')).filters.length);
    for (const { standing } of advice.filters) {
      expect(standing.error.rmsPx.standardError).toBeGreaterThan(0);
      expect(standing.growth.growthPercent.standardError).toBeGreaterThan(0);
      expect(standing.error.boundPx).toBeGreaterThan(0);
    }
    expect(curve.length).toBe(13 * 3);
    expect(stars.length).toBe(5);
  });
  test('--help tells every option and ends with 0', () => {
    const { status, stdout } = runExample('refocus', ['--help']);
    expect(status).toBe(0);
    for (const option of ['rig', 'frame', 'page', 'no-page', 'json', 'trials', 'seed'])
      expect(stdout).toContain(`--${option}`);
  });
});

describe('what cannot be used is named, ends with 2, and writes nothing', () => {
  const refused = (args: readonly string[], files: Record<string, string> = {}) => {
    const folder = freshFolder();
    for (const [name, text] of Object.entries(files)) writeFileSync(join(folder, name), text);
    const run = runExample('refocus', args, folder);
    expect(run.status).toBe(2);
    expect(run.stdout).toBe('');
    expect(readdirSync(folder).sort()).toEqual(Object.keys(files).sort());
    return run.stderr;
  };
  test('an unknown option', () => {
    expect(refused(['--colour'])).toMatch(/--colour/);
  });
  test('a number of trials out of range', () => {
    expect(refused(['--trials', '3'])).toMatch(/--trials must be a whole number from 64 to 1000000, got 3/);
  });
  test('a rig that is not there', () => {
    expect(refused(['--rig', 'none.json'])).toMatch(/cannot read the rig: .*none\.json/);
  });
  test('a rig with several faults, all at once', () => {
    const rig = JSON.parse(readFileSync(rigFile('refractor'), 'utf8'));
    rig.telescope.apertureMm = -100;
    rig.sky.seeingArcsec = 2;
    const message = refused(['--rig', 'bad.json'], { 'bad.json': JSON.stringify(rig) });
    expect(message).toMatch(/telescope\.apertureMm: must be > 0, got -100/);
    expect(message).toMatch(/sky\.seeingArcsec: must be a field that is known here .*, got 2/);
  });
  test('a page that cannot be written leaves what stood there', () => {
    const folder = freshFolder();
    const target = join(folder, 'kept');
    writeFileSync(target, 'old');
    const run = runExample('refocus', ['--trials', '64', '--page', join(target, 'page.html')], folder);
    expect(run.status).toBe(2);
    expect(run.stderr).toMatch(/cannot write .*page\.html/);
    expect(readFileSync(target, 'utf8')).toBe('old');
    expect(existsSync(join(target, 'page.html'))).toBe(false);
  });
  test('a failed run leaves the page of an earlier one as it was', () => {
    const folder = freshFolder();
    writeFileSync(join(folder, 'holdfast.html'), 'earlier');
    expect(runExample('refocus', ['--rig', 'none.json'], folder).status).toBe(2);
    expect(readFileSync(join(folder, 'holdfast.html'), 'utf8')).toBe('earlier');
  });
});
