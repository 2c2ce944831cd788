/** Where the full star gets another answer than a plain ring: on a small part of the table. */
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import type { RingOrStar } from '../../examples/reports/ring-or-star.ts';
import { answerHere, repository } from './run-example.ts';

describe('the full star against a plain ring', () => {
  test('two rings of one telescope: each difference is explained, by factors whose product is that of the error', async () => {
    const rig = join(repository, 'examples/rigs/fast-reflector.json');
    const args = ['--rig', rig, '--rings', '0,24', '--trials', '64', '--json'];
    const cells = (await answerHere('ring-or-star', args)).data as (RingOrStar & { flip?: string })[];
    expect(cells.map(({ ringDiameterPx }) => ringDiameterPx)).toEqual([0, 24]);
    for (const { ring, star, factors, lightShare, flip } of cells) {
      expect(flip !== undefined).toBe(ring.outcome !== star.outcome);
      // The star of this pick-off keeps 66 % of its light, and the air has wings: both make it worse.
      expect(lightShare).toBeLessThan(0.75);
      expect(factors.light).toBeGreaterThan(1.1);
      expect(factors.wings).toBeGreaterThan(1);
      if (flip !== undefined) expect(flip).toMatch(/^least error x \d\.\d\d by /);
      if (ring.noiseArcsec !== undefined && star.noiseArcsec !== undefined)
        expect(star.noiseArcsec).toBeGreaterThan(ring.noiseArcsec);
    }
  });
});
