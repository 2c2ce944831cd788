import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { createImage, randomStream } from '@holdfast/psf';
import { writeFits } from '@holdfast/sim';
import { beforeAll, describe, expect, test } from 'vitest';
import { openDataPath } from '../open-data.ts';
import { smallRig } from './plain-rig.ts';
import {
  type Answered,
  answerHere,
  freshFolder,
  refusalHere,
  repository,
  runExample,
} from './run-example.ts';

const rigFile = (name: string) => join(repository, `examples/rigs/${name}.json`);

/** Every number of a report has its error, and nothing that does not follow the star is kept. */
function expectWhole({ advice, curve, stars }: Answered['data'], filters: number): void {
  expect(advice.filters).toHaveLength(filters);
  for (const { assessment, outcome } of advice.filters) {
    expect(assessment.error.boundPx).toBeGreaterThan(0);
    if (assessment.error.followsStar) {
      expect(assessment.error.noiseEquivalentPx.standardError).toBeGreaterThan(0);
      expect(assessment.growth.growthPercent.standardError).toBeGreaterThan(0);
    } else expect(outcome).not.toBe('keep');
  }
  expect(curve).toHaveLength(13 * 4);
  expect(stars).toHaveLength(5);
}

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
  const json = (name: string) => ['--rig', smallRig(name), '--json', '--no-page', '--trials', '64'];
  test('--json is one JSON value', () => {
    const { status, stdout } = runExample('refocus', json('refractor'));
    expect(status).toBe(0);
    expectWhole(JSON.parse(stdout), 2);
  });
  test('the other example rig', async () => {
    expectWhole((await answerHere('refocus', json('long-two-mirror'))).data, 2);
  });
});

describe('what cannot be used is named, ends with 2, and writes nothing', () => {
  const refused = (args: readonly string[], files: Record<string, string> = {}) => {
    const folder = freshFolder();
    for (const [name, text] of Object.entries(files)) writeFileSync(join(folder, name), text);
    return refusalHere('refocus', args, folder);
  };
  test('an unknown option', async () => {
    expect(await refused(['--color'])).toMatch(/--color/);
  });
  test('a number of trials out of range', async () => {
    expect(await refused(['--trials', '3'])).toMatch(
      /--trials must be a whole number from 64 to 1000000, got 3/,
    );
  });
  test('a rig that is not there', async () => {
    expect(await refused(['--rig', 'none.json'])).toMatch(/cannot read the rig: .*none\.json/);
  });
  test('a rig with several faults, all at once', async () => {
    const rig = JSON.parse(readFileSync(rigFile('refractor'), 'utf8'));
    rig.telescope.apertureMm = -100;
    rig.sky.seeingArcsec = 2;
    const message = await refused(['--rig', 'bad.json'], { 'bad.json': JSON.stringify(rig) });
    expect(message).toMatch(/telescope\.apertureMm: must be > 0, got -100/);
    expect(message).toMatch(/sky\.seeingArcsec: must be a field that is known here .*, got 2/);
  });
  test('a page that cannot be written leaves what stood there', async () => {
    const folder = freshFolder();
    const target = join(folder, 'kept');
    writeFileSync(target, 'old');
    const args = ['--trials', '64', '--page', join(target, 'page.html')];
    expect(await refusalHere('refocus', args, folder)).toMatch(/cannot write .*page\.html/);
    expect(readFileSync(target, 'utf8')).toBe('old');
    expect(existsSync(join(target, 'page.html'))).toBe(false);
  });
  test('a failed run leaves the page of an earlier one as it was', async () => {
    const folder = freshFolder();
    writeFileSync(join(folder, 'holdfast.html'), 'earlier');
    await refusalHere('refocus', ['--rig', 'none.json'], folder);
    expect(readFileSync(join(folder, 'holdfast.html'), 'utf8')).toBe('earlier');
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
  const refusedFrame = (bytes: Uint8Array) => {
    const folder = freshFolder();
    writeFileSync(join(folder, 'frame.fits'), bytes);
    return refusalHere('refocus', ['--frame', 'frame.fits'], folder);
  };
  test('that is no FITS is refused', async () => {
    expect(await refusedFrame(Buffer.from('GIF89a and then some'))).toMatch(/frame\.fits gives no image: /);
  });
  test('that is truncated is refused with the bytes expected and found', async () => {
    const whole = writeFits(createImage(40, 30));
    expect(await refusedFrame(whole.slice(0, 2880 + 500))).toMatch(/gives no image: .*\d+.*500/);
  });
  test('without a star is refused', async () => {
    const random = randomStream('empty frame');
    const noise = createImage(
      60,
      50,
      Float64Array.from({ length: 3000 }, () => 100 + 5 * random.normal()),
    );
    expect(await refusedFrame(writeFits(noise))).toMatch(/shows no star/);
  });
  test('that is not there is refused', async () => {
    expect(await refusalHere('refocus', args('none.fits'), folder)).toMatch(
      /cannot read the frame: .*none\.fits/,
    );
  });
  test('of a kind that is not read is refused by its kind', async () => {
    expect(
      await refusalHere('refocus', args(openDataPath('fits/refused/compressed_image.fits')), folder),
    ).toMatch(/gives no image: .*compress/i);
    expect(
      await refusalHere('refocus', args(openDataPath('fits/refused/random_groups.fits')), folder),
    ).toMatch(/gives no image: .*random groups/i);
  });
});
