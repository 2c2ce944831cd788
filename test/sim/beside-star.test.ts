/** What an answer tells of as a chance, and what nobody can know. */
import { describe, expect, test } from 'vitest';
import { besideStar } from '../../packages/sim/src/advice/beside-star.ts';
import { notModeledFor } from '../../packages/sim/src/advice/not-modeled.ts';
import { starsPerDeg2 } from '../../packages/sim/src/odds/star-counts.ts';
import { expectWithin } from '../expect-within.ts';
import { smallRig } from './small-rig.ts';

const base = {
  guideStar: { magnitude: 11 },
  galacticLatitudeDeg: 40,
  tracking: { windowPx: 31 },
};

describe('beside the guide star', () => {
  test('the chance of a neighbor is that of the star counts in the window, by hand', () => {
    const { neighbor } = besideStar(smallRig(base));
    const count = starsPerDeg2({ magnitude: 15, galacticLatitudeDeg: 40 });
    // 31 px of 4 um at 750 mm
    const mean = count.perDeg2 * ((31 * 4 * 206.264806) / 750 / 3600) ** 2;
    const { value, low, high } = neighbor.chance;
    // The mean over a factor f whose logarithm is normal: exp(sigma^2 / 2) = 1.025 times as many.
    const many = mean * Math.exp(Math.log(count.uncertaintyFactor) ** 2 / 2);
    expectWithin(value, 1 - Math.exp(-many), 0.003 * value, 'second order in the mean');
    expectWithin(high, 1 - Math.exp(-mean * count.uncertaintyFactor ** 1.96), 1e-4, '95 %');
    expect(low).toBeLessThan(value);
    // 4 mag is a factor of 39.8, half the window 15.5 px.
    expectWithin(neighbor.pullPx, 15.5 / 40.8, 1e-3, 'two lights');
  });
  test('the chance of a hot pixel is that of the camera, more of them the more pixels are summed', () => {
    const camera = { pixelSizeUm: 4, exposureS: 2, readNoiseE: 2, hotPixelsPerMillion: 200 };
    const one = besideStar(smallRig({ ...base, guideCamera: camera })).hotPixel;
    const four = besideStar(smallRig({ ...base, guideCamera: { ...camera, binning: 2 } })).hotPixel;
    expectWithin(one.chance.value, 1 - (1 - 2e-4) ** 961, 1e-4, 'Poisson for binomial');
    expect(four.chance.value).toBeGreaterThan(3 * one.chance.value);
    expect(one.pullPx).toBeGreaterThan(0);
    expect(
      besideStar(smallRig({ ...base, guideCamera: { ...camera, hotPixelsPerMillion: 0 } })).hotPixel.chance
        .value,
    ).toBe(0);
  });
  test('a rig that names no latitude gets the counts of the mean density', () => {
    const { galacticLatitudeDeg: _, ...nowhere } = base;
    expect(besideStar(smallRig(nowhere)).galacticLatitudeDeg).toBe(25);
  });
});

describe('what is not modeled', () => {
  test('each line says by how much it could move the answer, and none names what is modeled', () => {
    const rigs = [
      smallRig(base),
      smallRig({ ...base, starModel: 'auto', focuser: { umPerStep: 1, moves: 'first-mirror' } }),
      smallRig({ ...base, offAxis: { offAxisMm: 10 } }),
      smallRig({
        ...base,
        starModel: 'auto',
        telescope: {
          apertureMm: 100,
          focalLengthMm: 700,
          obstructionRatio: 0,
          design: { kind: 'refractor' },
        },
      }),
    ];
    for (const lines of rigs.map(notModeledFor)) {
      expect(lines.length).toBeLessThanOrEqual(5);
      for (const line of lines) expect(line).toMatch(/\d/);
      expect(lines.join('; ')).not.toMatch(/neighbor|hot pixel|mount errors/);
    }
    expect(rigs.map(notModeledFor).at(-1)?.join()).toMatch(
      /focus of a red or a blue star is up to \d+ µm from that of a white one/,
    );
  });
  test('a thin cloud of 0.5 mag raises the error by 1.26 where the star outshines all noise, by 1.58 where it does not', () => {
    const factor = (magnitude: number) =>
      Number(
        /(\d\.\d) times as large$/.exec(
          notModeledFor(smallRig({ ...base, guideStar: { magnitude } })).at(-1) ?? '',
        )?.[1],
      );
    expect(factor(5)).toBe(1.3);
    expect(factor(19)).toBe(1.6);
  });
});
