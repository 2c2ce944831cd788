/** The committed checksums of the advice, of Chromium, and of Firefox where it is at hand. */
import { spawnSync } from 'node:child_process';
import * as centroid from '@holdfast/centroid';
import * as psf from '@holdfast/psf';
import * as sim from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
import { checksumsInBrowser } from '../checksums/in-browser.ts';
import { checksums, isQuick } from '../checksums/results.ts';
import { committed, differences, rigTexts, type Wanted } from '../checksums/table.ts';

const isAdvice: Wanted = (name) => name.startsWith('advice');
const hasFirefox = spawnSync('firefox-esr', ['--version'], { stdio: 'ignore' }).status === 0;

describe('the same bits as in the table', () => {
  test('in Node, of the advice on each example rig', async () => {
    const found: Record<string, string> = {};
    for await (const [name, sum] of checksums({ psf, centroid, sim }, rigTexts(), isAdvice))
      found[name] = sum;
    expect(Object.keys(found)).toHaveLength(Object.keys(rigTexts()).length);
    expect(differences(committed(isAdvice), found)).toEqual([]);
  });

  test('in Chromium, of stars, frames and positions', async () => {
    expect(differences(committed(isQuick), await checksumsInBrowser('chromium', 'quick'))).toEqual([]);
  });

  test.skipIf(!hasFirefox)('in Firefox, of stars, frames and positions', async () => {
    expect(differences(committed(isQuick), await checksumsInBrowser('firefox-esr', 'quick'))).toEqual([]);
  });
});
