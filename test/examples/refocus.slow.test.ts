/** The main job on whole rigs and on a real frame. */
import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, test } from 'vitest';
import { openDataPath } from '../open-data.ts';
import { smallRig } from './plain-rig.ts';
import { type Answered, answerHere, freshFolder, repository, runExample } from './run-example.ts';
import { expectWhole } from './whole-report.ts';

const rigFile = (name: string) => join(repository, `examples/rigs/${name}.json`);

describe('the main job', () => {
  const folder = freshFolder();
  let answer: Answered;
  beforeAll(async () => {
    answer = await answerHere('refocus', ['--trials', '64'], folder);
  });
  test('advises on every filter of the example rig, with the limit, and says how the numbers came about', () => {
    for (const filter of ['Luminance', 'Red', 'Green', 'Blue', 'H-alpha', 'O III', 'No filter'])
      expect(answer.text).toMatch(new RegExp(`^${filter}: (keep|trim|refocus); `, 'm'));
    expect(answer.text).toMatch(/^Focus limit: \d+(\.\d+)? \[.*\] µm either side of focus, a ring of/m);
    expect(answer.text).toMatch(
      /up\s+to\s+64\s+frames\s+per\s+row,\s+as\s+many\s+as\s+its\s+verdict\s+needs,\s+seed\s+1/,
    );
  });
  test('has every number and its error', () => {
    expectWhole(answer.data, JSON.parse(readFileSync(rigFile('fast-reflector'), 'utf8')).filters.length);
  });
  test('writes the page where it says', () => {
    expect(answer.text).toMatch(/Page with figures: holdfast\.html/);
    expect(readFileSync(join(folder, 'holdfast.html'), 'utf8')).toContain('id="holdfast-report"');
    expect(readdirSync(folder)).toEqual(['holdfast.html']);
  });
  test('gives the same text again, and another with another seed', async () => {
    const args = ['--rig', smallRig('fast-reflector'), '--trials', '64', '--no-page'];
    const first = runExample('refocus', args);
    expect(first.stderr).toBe('');
    expect(first.status).toBe(0);
    expect((await answerHere('refocus', args)).text.trim()).toBe(first.stdout.trim());
    expect((await answerHere('refocus', [...args, '--seed', 'other'])).text.trim()).not.toBe(
      first.stdout.trim(),
    );
  });
  // By rays: `checksums` holds the numbers of the whole star.
  test('the other example rig', async () => {
    const args = ['--rig', smallRig('long-two-mirror'), '--json', '--no-page', '--trials', '64'];
    expectWhole((await answerHere('refocus', args)).data, 2);
  });
});

describe('a real frame', () => {
  const decam = {
    name: 'Four-meter telescope at F/2.98',
    telescope: { apertureMm: 3940, focalLengthMm: 11740, obstructionRatio: 0.42 },
    guideCamera: {
      pixelSizeUm: 15,
      exposureS: 10,
      readNoiseE: 7,
      gainEPerAdu: 3.8,
      bitDepth: 16,
      fullWellE: 150000,
    },
    mainCamera: { pixelSizeUm: 15 },
    sky: { seeingFwhmArcsec: 1.2 },
    guideStar: { magnitude: 16 },
    filters: [{ name: 'r', focusShiftUm: 0 }],
    // Set once, for rings as large as these.
    tracking: { windowPx: 65 },
  };
  const args = (file: string) => ['--rig', 'rig.json', '--frame', file, '--trials', '64'];
  const folder = freshFolder();
  writeFileSync(join(folder, 'rig.json'), JSON.stringify(decam));
  test('of an out-of-focus star gives position by each estimator, SNR, ring, focus shift and advice', async () => {
    const file = openDataPath('donut-real/DECam_00284696.S4.0007.stamp.fits');
    const { text, data } = await answerHere('refocus', args(file), folder);
    for (const estimator of ['center of mass', 'thresholded center of mass', 'Gaussian fit'])
      expect(text).toMatch(new RegExp(`^${estimator} +\\d+\\.\\d+ ± 0\\.\\d+ +\\d+\\.\\d+ ± 0\\.\\d+`, 'm'));
    expect(text).toMatch(/^SNR \d+/m);
    // Outer diameter 37 to 47 px and obstruction ratio 0.420 by the images' own description.
    const outer = Number(/outer diameter (\d+\.\d)/.exec(text)?.[1]);
    expect(outer).toBeGreaterThan(37);
    expect(outer).toBeLessThan(47);
    expect(text).toMatch(/Implied focus shift: \d+ ± \d+ µm/);
    expect(text).toMatch(/^This star: keep; /m);
    const { star, advice, limit } = data;
    expect(star.ring.outerDiameterPx.standardError).toBeGreaterThan(0);
    expect(advice.outcome).toBe('keep');
    expect(limit.limitUm.value).toBeGreaterThan(1000);
  });
});
