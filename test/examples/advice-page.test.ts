import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { parseRig } from '@holdfast/sim';
import { beforeAll, describe, expect, test } from 'vitest';
import { smallRigFile } from '../sim/small-rig.ts';

import { rigText } from './plain-rig.ts';
import { answerHere, freshFolder, type Run, refusalHere, repository, runExample } from './run-example.ts';

const quick = ['--trials', '64', '--runs', '2'];
const rigFile = (name: string) => join(repository, `examples/rigs/${name}.json`);
const titles = [
  'What to do',
  'Filter by filter, where the guide camera is now',
  'When the filter changes',
  'How far it may be out of focus',
  'As the night cools',
  'The pick-off',
  'Is there a guide star?',
  'During a focus run',
  'What makes the stars of the picture',
  'Beside the guide star',
  'Not in these numbers',
];

describe('a page of advice', () => {
  const folder = freshFolder();
  let run: Run;
  let page: string;
  beforeAll(() => {
    const rig = JSON.parse(readFileSync(rigFile('fast-reflector'), 'utf8'));
    rig.filters = rig.filters.filter(({ name }: { name: string }) => name !== 'No filter');
    writeFileSync(join(folder, 'own.json'), JSON.stringify(rig));
    run = runExample('advice-page', ['--rig', 'own.json', '--out', 'page.txt', ...quick], folder);
    page = readFileSync(join(folder, 'page.txt'), 'utf8');
  });
  test('is written with its inputs beside it, and nothing else', () => {
    expect(run.stderr).toBe('');
    expect(run.status).toBe(0);
    expect(run.stdout).toBe('Advice: page.txt\nIts inputs: page.txt.inputs.json\n');
    expect(readdirSync(folder).sort()).toEqual(['own.json', 'page.txt', 'page.txt.inputs.json']);
  });
  test('has a section for everything that the rig names', () => {
    for (const title of [...titles, 'What else would help'])
      expect(page).toMatch(new RegExp(`^${title.replace('?', '\\?')}$`, 'm'));
  });
  test('each line of a section is one, with numbers and how sure they are', () => {
    const text = page.replace(/\s+/g, ' ');
    expect(text).toMatch(
      /- Set the guide camera to -38\.0 µm \(95 % interval -40\.5 to -35\.5 µm; 38\.0 µm toward the telescope\), and refocus it for O III alone/,
    );
    expect(text).toMatch(
      /- No single setting suits all filters\. With the best one, \+\d+ µm .*, O III still takes \d+ % of the budget/,
    );
    expect(text).toMatch(
      /- H-alpha \(\+180 µm, ring 12\.0 px\): keep; stars grow by 0\.\d % \(allowed 5 %\)/,
    );
    expect(text).toMatch(
      /- O III \(-420 µm, ring 28\.0 px\): trim; stars grow by \d.*; measure by center of mass/,
    );
    expect(text).toMatch(
      /- O III, cheapest first, one at a time: average \d+ stars as bright as this one \(growth \d/,
    );
    expect(text).toMatch(
      /such stars at this latitude: the probability of at least one is \d+ \[\d+, \d+\] %/,
    );
    expect(text).toMatch(/off by \d+(\.\d+)? ± \d+(\.\d+)? arcsec rms at its end/);
    expect(text).toMatch(
      /in quadrature of seeing 2\.50, other tracking 1\.18, image motion 0\.84, pixel 0\.66 and guide star 0\.\d\d\. Largest: seeing/,
    );
    for (const line of page.split('\n')) expect(line.length).toBeLessThanOrEqual(100);
  });
  test('its inputs hold the rig, and all that the page rests on', () => {
    const inputs = JSON.parse(readFileSync(join(folder, 'page.txt.inputs.json'), 'utf8'));
    expect(inputs).toMatchObject({ seed: '1', trials: 64, runs: 2 });
    expect(inputs.version).toMatch(/^\d+\.\d+\.\d+/);
    expect(inputs.rig.tracking.correctionDelayS).toBe(0.5);
    expect(parseRig(inputs.rig)).toEqual(parseRig(readFileSync(join(folder, 'own.json'), 'utf8')));
  });
});

test.each(['long-two-mirror', 'refractor'])(
  '--json on %s holds inputs, lines and every number',
  async (name) => {
    const folder = freshFolder();
    // Two filters, by rays, say as much of the page as all: `checksums` holds the numbers of the whole star.
    const rig = rigText(name);
    const filters = (rig['filters'] as readonly unknown[]).slice(0, 2);
    writeFileSync(join(folder, 'rig.json'), JSON.stringify({ ...rig, filters, starModel: 'geometric' }));
    const args = ['--rig', 'rig.json', '--json', ...quick];
    const { inputs, sections, night } = (await answerHere('advice-page', args, folder)).data;
    expect(
      inputs.rig.filters.every(({ focusShiftUm }: { focusShiftUm: number }) => Number.isFinite(focusShiftUm)),
    ).toBe(true);
    expect(sections.map(({ title }: { title: string }) => title)).toEqual(titles);
    expect(night.remedies).toEqual([]);
    expect(night.thermal.umPerK).toBeGreaterThan(0);
    expect(night.pickoff.isClear).toBe(true);
    expect(night.guideStarOdds.chances[0].atLeastOne.value).toBeGreaterThan(0.5);
    expect(night.focusRun.pause.offsetArcsec.standardError).toBeGreaterThan(0);
  },
);

test('what a rig does not name is left out; the inputs of a page make it again', async () => {
  const folder = freshFolder();
  writeFileSync(join(folder, 'rig.json'), JSON.stringify(smallRigFile));
  await answerHere('advice-page', ['--rig', 'rig.json', '--out', 'page.txt', ...quick], folder);
  const text = readFileSync(join(folder, 'page.txt'), 'utf8').trim();
  for (const title of [
    'As the night cools',
    'The pick-off',
    'Is there a guide star',
    'During a focus run',
    'When the filter changes',
  ])
    expect(text).not.toContain(title);
  expect(text).toContain('What to do');
  const other = freshFolder();
  const inputs = JSON.parse(readFileSync(join(folder, 'page.txt.inputs.json'), 'utf8'));
  writeFileSync(join(other, 'rig.json'), JSON.stringify(inputs.rig));
  const again = await answerHere('advice-page', ['--rig', 'rig.json', ...quick], other);
  expect(again.text.trim()).toBe(text);
  expect(readdirSync(other)).toEqual(['rig.json']);
});

describe('what cannot be used is named, and writes nothing', () => {
  test.each([
    [['--runs', '1'], /--runs must be a whole number from 2 to 1000, got 1/],
    [['--trials', '3'], /--trials must be a whole number from 64 to 1000000, got 3/],
    [['--out', ''], /--out must not be empty/],
    [['--rig', 'none.json', '--out', 'page.txt'], /cannot read the rig: .*none\.json/],
    [['--color'], /--color/],
  ])('%j', async (args, message) => {
    expect(await refusalHere('advice-page', args)).toMatch(message);
  });
  test('a place that cannot be written, before any work', async () => {
    const folder = freshFolder();
    writeFileSync(join(folder, 'kept'), 'old');
    const args = ['--out', join('kept', 'page.txt'), ...quick];
    expect(await refusalHere('advice-page', args, folder)).toMatch(/cannot write .*page\.txt/);
    expect(existsSync(join(folder, 'kept', 'page.txt'))).toBe(false);
    expect(readFileSync(join(folder, 'kept'), 'utf8')).toBe('old');
  });
});
