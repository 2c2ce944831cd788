import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { createImage, randomStream } from '@holdfast/psf';
import { writeFits } from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
import { openDataPath } from '../open-data.ts';
import { smallRig } from './plain-rig.ts';
import { freshFolder, refusalHere, repository, runExample } from './run-example.ts';
import { expectWhole } from './whole-report.ts';

const rigFile = (name: string) => join(repository, `examples/rigs/${name}.json`);

describe('the main job', () => {
  // By rays: `checksums` holds the numbers of the whole star.
  test('--json is one JSON value', () => {
    const args = ['--rig', smallRig('refractor'), '--json', '--no-page', '--trials', '64'];
    const { status, stdout } = runExample('refocus', args);
    expect(status).toBe(0);
    expectWhole(JSON.parse(stdout), 2);
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

describe('a frame', () => {
  const args = (file: string) => ['--frame', file];
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
    expect(await refusalHere('refocus', args('none.fits'))).toMatch(/cannot read the frame: .*none\.fits/);
  });
  test('of a kind that is not read is refused by its kind', async () => {
    expect(await refusalHere('refocus', args(openDataPath('fits/refused/compressed_image.fits')))).toMatch(
      /gives no image: .*compress/i,
    );
    expect(await refusalHere('refocus', args(openDataPath('fits/refused/random_groups.fits')))).toMatch(
      /gives no image: .*random groups/i,
    );
  });
});
