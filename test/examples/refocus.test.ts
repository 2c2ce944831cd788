import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { createImage, randomStream } from '@holdfast/psf';
import { writeFits } from '@holdfast/sim';
import { beforeAll, describe, expect, test } from 'vitest';
import { openDataPath } from '../open-data.ts';
import { plainRig } from './plain-rig.ts';
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
    expect(run.stdout).toMatch(/^Focus limit: \d+(\.\d+)? \[.*\] µm either side of focus, a ring of/m);
    expect(run.stdout).toMatch(
      /up\s+to\s+256\s+frames\s+per\s+row,\s+as\s+many\s+as\s+its\s+verdict\s+needs,\s+seed\s+1/,
    );
  });
  test('writes the page where it says', () => {
    expect(run.stdout).toMatch(/Page with figures: holdfast\.html/);
    expect(readFileSync(join(folder, 'holdfast.html'), 'utf8')).toContain('id="holdfast-report"');
    expect(readdirSync(folder)).toEqual(['holdfast.html']);
  });
  test('gives the same text again, and another with another seed', () => {
    const args = ['--rig', plainRig('fast-reflector'), '--trials', '64', '--no-page'];
    const first = runExample('refocus', args).stdout;
    expect(runExample('refocus', args).stdout).toBe(first);
    expect(runExample('refocus', [...args, '--seed', 'other']).stdout).not.toBe(first);
  });
  // By rays: `checksums` holds the numbers of the whole star.
  test.each(rigs)('--json on %s is one JSON value with every number and its error', (name) => {
    const { status, stdout } = runExample('refocus', [
      '--rig',
      plainRig(name),
      '--json',
      '--no-page',
      '--trials',
      '64',
    ]);
    expect(status).toBe(0);
    const { advice, curve, stars } = JSON.parse(stdout);
    expect(advice.filters.length).toBe(JSON.parse(readFileSync(rigFile(name), 'utf8')).filters.length);
    for (const { assessment, outcome } of advice.filters) {
      expect(assessment.error.boundPx).toBeGreaterThan(0);
      if (assessment.error.followsStar) {
        expect(assessment.error.noiseEquivalentPx.standardError).toBeGreaterThan(0);
        expect(assessment.growth.growthPercent.standardError).toBeGreaterThan(0);
      } else expect(outcome).not.toBe('keep');
    }
    expect(curve.length).toBe(13 * 4);
    expect(stars.length).toBe(5);
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
    expect(refused(['--color'])).toMatch(/--color/);
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
    tracking: { windowPx: 91 },
  };
  const run = (file: string, extra: readonly string[] = []) => {
    const folder = freshFolder();
    writeFileSync(join(folder, 'rig.json'), JSON.stringify(decam));
    return runExample('refocus', ['--rig', 'rig.json', '--frame', file, '--trials', '64', ...extra], folder);
  };
  test('of an out-of-focus star gives position by each estimator, SNR, ring, focus shift and advice', () => {
    const { status, stdout } = run(openDataPath('donut-real/DECam_00284696.S4.0007.stamp.fits'));
    expect(status).toBe(0);
    for (const estimator of ['center of mass', 'thresholded center of mass', 'Gaussian fit'])
      expect(stdout).toMatch(
        new RegExp(`^${estimator} +\\d+\\.\\d+ ± 0\\.\\d+ +\\d+\\.\\d+ ± 0\\.\\d+`, 'm'),
      );
    expect(stdout).toMatch(/^SNR \d+/m);
    // Outer diameter 37 to 47 px and obstruction ratio 0.420 by the images' own description.
    const outer = Number(/outer diameter (\d+\.\d)/.exec(stdout)?.[1]);
    expect(outer).toBeGreaterThan(37);
    expect(outer).toBeLessThan(47);
    expect(stdout).toMatch(/Implied focus shift: \d+ ± \d+ µm/);
    expect(stdout).toMatch(/^This star: keep; /m);
  });
  test('--json gives the same as one value', () => {
    const { status, stdout } = run(openDataPath('donut-real/DECam_00284696.S4.0007.stamp.fits'), ['--json']);
    expect(status).toBe(0);
    const { star, advice, limit } = JSON.parse(stdout);
    expect(star.ring.outerDiameterPx.standardError).toBeGreaterThan(0);
    expect(advice.outcome).toBe('keep');
    expect(limit.limitUm.value).toBeGreaterThan(1000);
  });
  const refusedFrame = (bytes: Uint8Array) => {
    const folder = freshFolder();
    writeFileSync(join(folder, 'frame.fits'), bytes);
    const { status, stdout, stderr } = runExample('refocus', ['--frame', 'frame.fits'], folder);
    expect(status).toBe(2);
    expect(stdout).toBe('');
    expect(readdirSync(folder)).toEqual(['frame.fits']);
    return stderr;
  };
  test('that is no FITS is refused', () => {
    expect(refusedFrame(Buffer.from('GIF89a and then some'))).toMatch(/frame\.fits gives no image: /);
  });
  test('that is truncated is refused with the bytes expected and found', () => {
    const whole = writeFits(createImage(40, 30));
    expect(refusedFrame(whole.slice(0, 2880 + 500))).toMatch(/gives no image: .*\d+.*500/);
  });
  test('without a star is refused', () => {
    const random = randomStream('empty frame');
    const noise = createImage(
      60,
      50,
      Float64Array.from({ length: 3000 }, () => 100 + 5 * random.normal()),
    );
    expect(refusedFrame(writeFits(noise))).toMatch(/shows no star/);
  });
  test('that is not there is refused', () => {
    expect(run('none.fits').stderr).toMatch(/cannot read the frame: .*none\.fits/);
  });
  test('of a kind that is not read is refused by its kind', () => {
    expect(run(openDataPath('fits/refused/compressed_image.fits')).stderr).toMatch(
      /gives no image: .*compress/i,
    );
    expect(run(openDataPath('fits/refused/random_groups.fits')).stderr).toMatch(
      /gives no image: .*random groups/i,
    );
  });
});
