/** Many short runs against a long one. */
import { measureError } from '@holdfast/sim';
import { intervalOf, meanOf } from '@holdfast/sim/internal';
import { describe, expect, test } from 'vitest';
import { expectWithin, expectWithinSigmas } from '../expect-within.ts';
import { fittedScene, smallRig } from './small-rig.ts';

describe('position error by trials', () => {
  test('with chance taken out, 2000 short runs agree with a long one, and as many intervals contain it as should', () => {
    const scene = fittedScene(smallRig(), { focusShiftUm: 0, snr: 40 });
    const run = (seed: string | number, trials: number) =>
      measureError(scene, { estimator: 'thresholdedCenterOfMass', seed, trials });
    const long = run('long', 16384);
    const short = Array.from({ length: 2000 }, (_, seed) => run(seed, 64));
    for (const part of ['offsetXPx', 'scatterPx', 'noiseEquivalentPx', 'rmsAgainstTruePx'] as const) {
      const right = long[part] ?? { value: 0, standardError: 0 };
      const { value, standardError } = meanOf(Float64Array.from(short, (error) => error[part]?.value ?? 0));
      expectWithinSigmas(value, right.value, Math.hypot(standardError, right.standardError), 3);
      const held = short.filter((error) => {
        const { low, high } = intervalOf(error[part] ?? { value: 0, standardError: 0 });
        return low <= right.value && right.value <= high;
      });
      expectWithin(held.length / 2000, 0.95, 0.02, `${part}: four standard errors of 2000 runs`);
    }
    // By counting alone the scatter of 64 frames is known to 1 / sqrt(4 * 64), 6 % of it.
    expect(short[0].scatterPx?.standardError).toBeLessThan(0.02 * (short[0].scatterPx?.value ?? 0));
    expect(long.plainTrials).toBeGreaterThan(20 * long.located);
  });
});
