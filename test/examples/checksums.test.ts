/** The committed checksums, in Node and in each browser that is at hand. */
import { spawnSync } from 'node:child_process';
import * as centroid from '@holdfast/centroid';
import * as psf from '@holdfast/psf';
import * as sim from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
import { checksumsInBrowser } from '../checksums/in-browser.ts';
import { checksums, isQuick } from '../checksums/results.ts';
import { committed, differences, rigTexts } from '../checksums/table.ts';

const isAtHand = (program: string) => spawnSync(program, ['--version'], { stdio: 'ignore' }).status === 0;

describe('the same bits as in the table', () => {
  test('in Node', async () => {
    const found: Record<string, string> = {};
    for await (const [name, sum] of checksums({ psf, centroid, sim }, rigTexts())) found[name] = sum;
    expect(differences(committed(), found)).toEqual([]);
  });

  const browsers = ['chromium', 'firefox-esr'].filter(isAtHand);
  test.each(browsers)('in %s, of stars, frames and positions', async (browser) => {
    const found = await checksumsInBrowser(browser, 'quick');
    const table = Object.entries(committed()).filter(([name]) => isQuick(name));
    expect(differences(Object.fromEntries(table), found)).toEqual([]);
  });
});
