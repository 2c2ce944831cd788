/**
 * The committed checksums, in Node and in Chromium. `checksums.slow.test.ts` has those of the advice, and
 * Firefox.
 */
import * as centroid from '@holdfast/centroid';
import * as psf from '@holdfast/psf';
import * as sim from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
import { checksumsInBrowser } from '../checksums/in-browser.ts';
import { checksums, isQuick } from '../checksums/results.ts';
import { committed, differences, rigTexts, type Wanted } from '../checksums/table.ts';

const isNoAdvice: Wanted = (name) => !name.startsWith('advice');

describe('the same bits as in the table', () => {
  test('in Node, of all but the advice', async () => {
    const found: Record<string, string> = {};
    for await (const [name, sum] of checksums({ psf, centroid, sim }, rigTexts(), isNoAdvice))
      found[name] = sum;
    expect(Object.keys(found).length).toBeGreaterThan(20);
    expect(differences(committed(isNoAdvice), found)).toEqual([]);
  });

  test('in Chromium, of stars, frames and positions', async () => {
    expect(differences(committed(isQuick), await checksumsInBrowser('chromium', 'quick'))).toEqual([]);
  });
});
