/**
 * More of the frames program: its start, a real ring, frames that know their telescope, the star's wavefront.
 */
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { writeFits } from '@holdfast/sim';
import { beforeAll, describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { openDataPath } from '../open-data.ts';
import { folder, frames, pixelsOf, rig, simulate, small, trials } from './frame-runs.ts';
import { plainRig } from './plain-rig.ts';
import { answerHere, refusalHere, repository, runExample } from './run-example.ts';

describe('one frame', () => {
  let stdout: string;
  // biome-ignore lint/suspicious/noExplicitAny: as above
  let numbers: any;
  beforeAll(async () => {
    await simulate('--shift', '260', ...small, '--magnitude', '11', '--out', 'one.fits');
    ({ stdout, json: numbers } = await frames('one.fits', ...trials, '--picture', 'one.svg'));
  });

  test('started as users start it, it prints the same', () => {
    const run = runExample('frames', [...rig, 'one.fits', ...trials, '--picture', 'one.svg'], folder);
    expect(run.stderr).toBe('');
    expect(run.status).toBe(0);
    expect(run.stdout.trim()).toBe(stdout.trim());
    const asJson = runExample('frames', [...rig, 'one.fits', ...trials, '--json'], folder);
    expect(asJson.stderr).toBe('');
    expect(JSON.parse(asJson.stdout)).toEqual(numbers);
  });

  test('a real ring: its own picture and numbers', async () => {
    const file = openDataPath('donut-real/DECam_00487890.S4.0054.stamp.fits');
    const { stdout } = await frames(file, ...trials, '--picture', 'real.svg');
    expect(stdout).toMatch(/Ring by fit: outer diameter 4\d\.\d/);
    expect(stdout).toMatch(/The ring's light is uneven/);
    expect(readFileSync(join(folder, 'real.svg'), 'utf8').match(/<circle/g)!.length).toBeGreaterThanOrEqual(
      4,
    );
  });
});

describe('the telescope of a frame is its own', () => {
  const slow = ['--rig', 'slow.json'];
  beforeAll(async () => {
    const rig = JSON.parse(readFileSync(plainRig('fast-reflector'), 'utf8'));
    rig.telescope = { ...rig.telescope, apertureMm: 235, focalLengthMm: 2350 };
    rig.sky.seeingFwhmArcsec = 1.2;
    writeFileSync(join(folder, 'slow.json'), JSON.stringify(rig));
    const args = ['--shift', '825', '--magnitude', '9', ...small, '--out', 'slow.fits'];
    await answerHere('simulate-frame', [...slow, ...args], folder);
    // The same picture by a program whose header says no more than pixel and focal length.
    const { image } = pixelsOf('slow.fits');
    const header = [
      { keyword: 'XPIXSZ', value: 3.75 },
      { keyword: 'FOCALLEN', value: 2350 },
      { keyword: 'EGAIN', value: 1 },
    ];
    writeFileSync(join(folder, 'bare.fits'), writeFits(image, { bitpix: 16, header }));
  });
  const shiftOf = (stdout: string) => Number(/^Implied focus shift: (\d+(\.\d)?) ±/m.exec(stdout)?.[1]);
  const run = (...args: readonly string[]) => answerHere('frames', [...args, ...trials], folder);
  const refused = (...args: readonly string[]) => refusalHere('frames', [...args, ...trials], folder);

  test('a ring of 22 px at f/10 is 825 µm from focus, not the 314 of an f/4 telescope', async () => {
    const { text: stdout } = await run('slow.fits');
    expectWithin(shiftOf(stdout), 825, 8, '1 %: noise, and the light of a cone');
    expect(stdout).toContain('telescope by header and options: 235.0 mm f/10.0, pixels of 3.75 µm');
    expect(stdout).toMatch(/assumed: .* seeing\s+2\.5″/s);
  });
  test('what the header does not say is asked for by its option; pixels are told, micrometers are not', async () => {
    const { text: stdout, data } = await run('bare.fits', '--picture', 'bare.svg');
    expect(stdout).toMatch(/^Ring by fit: outer diameter 2\d\.?\d* ± /m);
    expect(stdout).toMatch(
      /^No verdict: lengths in µm and an advice need the aperture \(--aperture\), or a rig file/m,
    );
    expect(stdout).not.toMatch(/\d µm/);
    expect(data).toMatchObject({ missing: [{ option: '--aperture' }] });
    expect(await refused('bare.fits', '--aperture', '235', '--set', 'offsetAdu=60')).toContain('offsetAdu');
  });
  test('the main job, too, takes no example rig for it', async () => {
    const { text } = await answerHere('refocus', ['--frame', 'bare.fits'], folder);
    expect(text).toMatch(
      /^No verdict: lengths in µm and an advice need the aperture \(--aperture\), or a rig file/m,
    );
  });
  test('a sequence asks for the same; a rig file and numbers of a telescope are one too many', async () => {
    expect(await refused('bare.fits', 'bare.fits')).toContain(
      '2 files: a sequence needs the aperture (--aperture), or',
    );
    expect(await refused('slow.fits', ...slow, '--aperture', '235')).toContain(
      'must be left out, since --rig gives the rig',
    );
  });
});

describe('what cannot be used is told, and ends with 2', () => {
  beforeAll(async () => {
    mkdirSync(join(folder, 'empty'), { recursive: true });
    writeFileSync(join(folder, 'bad.png'), 'no picture');
    await simulate(...small, '--magnitude', '20', '--out', 'dark.fits');
  });
  test('the main job takes the same frames', async () => {
    const rig = join(repository, 'examples/rigs/fast-reflector.json');
    const { text } = await answerHere('refocus', ['--frame', 'one.fits', ...trials, '--rig', rig], folder);
    expect(text).toMatch(/FITS, 260 x 220 px, 1 star$/m);
  });
});

describe('the star itself', () => {
  test('its wavefront with errors, the rig with this very star, and the frame with its marks', async () => {
    const lengths = ['--aperture', '100', '--focal-length', '500', '--pixel', '3.75', '--trials', '64'];
    const known = ['gainEPerAdu=1', 'offsetAdu=100', 'readNoiseE=3'].flatMap((text) => [
      '--set',
      `guideCamera.${text}`,
    ]);
    const star = join(repository, 'test/independent/wavefront-rings/clipped.fits');
    const wanted = ['--wavefront', '--save-rig', 'star.json', '--figure', 'marks.svg'];
    const { text } = await answerHere('frames', [star, ...lengths, ...known, ...wanted], folder);
    expect(text).toMatch(/spherical aberration \(Z11\) +-?\d+ ± \d+ .*opposite sign/);
    expect(text).toMatch(/an edge clips the beam at 0\.\d+ ± 0\.\d+/);
    const { offAxis } = JSON.parse(readFileSync(join(folder, 'star.json'), 'utf8'));
    // truth.json beside the picture: 0.2 waves of 600 nm, an edge at 0.7
    expectWithin(offAxis.aberrationsNm[8], 120, 60, 'diffraction left out, and noise');
    expectWithin(offAxis.clipDistance, 0.7, 0.1, 'the same');
    expect(readFileSync(join(folder, 'marks.svg'), 'utf8')).toMatch(/1 star, numbered by brightness/);
    const args = ['--rig', 'star.json', '--ring', '20', '--no-page', ...trials];
    expect((await answerHere('refocus', args, folder)).text).toMatch(/^(KEEP|TRIM|REFOCUS)/);
  });
});
