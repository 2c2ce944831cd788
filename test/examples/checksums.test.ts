/** The committed checksums. `checksums.slow.test.ts` has those of the advice, and of the browsers. */
import * as centroid from '@holdfast/centroid';
import * as psf from '@holdfast/psf';
import * as sim from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
import { checksums } from '../checksums/results.ts';
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
});
