import { buildScene, measureError } from '@holdfast/sim';
import { leastError } from '@holdfast/sim/internal';
import { describe, expect, test } from 'vitest';
import { chanceOf } from '../../packages/sim/src/odds/guide-star-chance.ts';
import { guideStarLimit } from '../../packages/sim/src/odds/guide-star-limit.ts';
import { guideStarOdds, guideStarOddsOf } from '../../packages/sim/src/odds/guide-star-odds.ts';
import { starsPerDeg2 } from '../../packages/sim/src/odds/star-counts.ts';
import { expectWithin } from '../expect-within.ts';
import { smallRig } from './small-rig.ts';

const rig = smallRig();
const quick = { seed: 1, trials: 128 };

describe('the odds of a count', () => {
  test('without uncertainty they are those of Poisson', () => {
    for (const mean of [0.01, 0.3, 2, 9]) {
      const { atLeastOne, atLeastThree, expectedStars } = chanceOf(1, mean, 0);
      expectWithin(atLeastOne.value, 1 - Math.exp(-mean), 1e-14, 'rounding');
      const few = Math.exp(-mean) * (1 + mean + mean ** 2 / 2);
      expectWithin(atLeastThree.value, 1 - few, 1e-14, 'rounding');
      expect([expectedStars.low, expectedStars.high]).toEqual([mean, mean]);
    }
  });
  test('with it they are the mean over a log-normal factor: fine quadrature of the same integral', () => {
    const sigma = Math.log(1.5);
    for (const mean of [0.05, 1, 6]) {
      const { atLeastOne, atLeastThree } = chanceOf(1, mean, sigma);
      let [one, three, weights] = [0, 0, 0];
      for (let i = -4000; i <= 4000; i++) {
        const z = i / 400;
        const weight = Math.exp(-(z * z) / 2);
        const m = mean * Math.exp(sigma * z);
        one += weight * -Math.expm1(-m);
        three += weight * (1 - Math.exp(-m) * (1 + m + (m * m) / 2));
        weights += weight;
      }
      expectWithin(atLeastOne.value, one / weights, 1e-8, 'bound stated for the quadrature');
      expectWithin(atLeastThree.value, three / weights, 1e-8, 'bound stated for the quadrature');
    }
  });
  test('the interval is that of the count: 1.96 sigmas of its factor either way', () => {
    const { expectedStars, atLeastOne, atLeastThree } = chanceOf(1, 1.2, Math.log(1.35));
    expectWithin(expectedStars.low, 1.2 / 1.35 ** 1.959963984540054, 1e-12, 'definition');
    expectWithin(expectedStars.high, 1.2 * 1.35 ** 1.959963984540054, 1e-12, 'definition');
    expectWithin(atLeastOne.low, 1 - Math.exp(-expectedStars.low), 1e-12, 'definition');
    expectWithin(atLeastOne.high, 1 - Math.exp(-expectedStars.high), 1e-12, 'definition');
    for (const { low, value, high } of [atLeastOne, atLeastThree]) {
      expect(low).toBeLessThan(value);
      expect(value).toBeLessThan(high);
    }
  });
  test('uncertainty lowers the odds of a likely star and raises those of three unlikely ones', () => {
    const sigma = Math.log(1.5);
    expect(chanceOf(1, 3, sigma).atLeastOne.value).toBeLessThan(chanceOf(1, 3, 0).atLeastOne.value);
    expect(chanceOf(1, 0.2, sigma).atLeastThree.value).toBeGreaterThan(
      chanceOf(1, 0.2, 0).atLeastThree.value,
    );
  });
});

describe('the faintest guide star', () => {
  const limit = guideStarLimit(rig, { focusShiftUm: 150, ...quick });
  test('detected: its image has the SNR asked for', () => {
    expectWithin(limit.detected.snr, 10, 1e-6, 'root search');
    const scene = buildScene(rig, { focusShiftUm: 150, magnitude: limit.detected.magnitude });
    expectWithin(scene.snr, 10, 1e-5, 'the magnitude gives that image');
  });
  test('least error: there the bound spends the budget', () => {
    const star = limit.leastError;
    expect(star).toBeDefined();
    if (star === undefined) return;
    const scene = buildScene(rig, { focusShiftUm: 150, magnitude: star.magnitude });
    expectWithin(leastError(scene) * scene.arcsecPerPx, star.leastErrorArcsec, 1e-9, 'the same star');
    expectWithin(
      star.leastErrorArcsec / limit.allowedNoiseArcsec,
      1,
      0.003,
      'found to 0.002 mag, an error of at most 0.2 %',
    );
  });
  test('measured: the estimator is within the budget there and outside it a little fainter, on other frames', () => {
    const star = limit.measured;
    expect(star).toBeDefined();
    if (star === undefined) return;
    const share = (magnitude: number) => {
      const scene = buildScene(rig, { focusShiftUm: 150, magnitude });
      const error = measureError(scene, { estimator: limit.estimator, seed: 'other', trials: 1024 });
      return Math.max(
        (error.noiseEquivalentArcsec?.value ?? Infinity) / limit.allowedNoiseArcsec,
        (100 * error.lostFraction.value) / rig.budget.lostFractionPercent,
      );
    };
    expect(share(star.magnitude - 0.25)).toBeLessThan(1);
    expect(share(star.magnitude + 0.25)).toBeGreaterThan(1);
  });
  test('no estimator goes beyond the least error, and the usable star is the brighter of two', () => {
    expect(limit.measured?.magnitude).toBeLessThanOrEqual(limit.leastError?.magnitude ?? Number.NaN);
    expect(limit.usable?.magnitude).toBe(
      Math.min(limit.detected.magnitude, limit.measured?.magnitude ?? Number.NaN),
    );
  });
  test('a larger focus shift asks for a brighter star; a longer exposure allows a fainter one', () => {
    const far = guideStarLimit(rig, { focusShiftUm: 400, ...quick });
    expect(far.detected.magnitude).toBeLessThan(limit.detected.magnitude);
    expect(far.leastError?.magnitude).toBeLessThan(limit.leastError?.magnitude ?? Number.NaN);
    const long = guideStarLimit(
      { ...rig, guideCamera: { ...rig.guideCamera, exposureS: 8 } },
      { focusShiftUm: 150, ...quick },
    );
    expect(long.detected.magnitude).toBeGreaterThan(limit.detected.magnitude);
  });
  test('a limit on the position error alone asks for a star that keeps it', () => {
    const rmsErrorArcsec = 0.25 * limit.allowedNoiseArcsec;
    const strict = { ...rig, budget: { ...rig.budget, rmsErrorArcsec } };
    const { measured } = guideStarLimit(strict, { focusShiftUm: 150, ...quick });
    const magnitude = measured?.magnitude ?? Number.NaN;
    const rmsAt = (at: number) =>
      measureError(buildScene(rig, { focusShiftUm: 150, magnitude: at }), {
        estimator: limit.estimator,
        seed: 'other',
        trials: 1024,
      }).noiseEquivalentArcsec?.value ?? Infinity;
    expect(rmsAt(magnitude - 0.25)).toBeLessThan(rmsErrorArcsec);
    expect(rmsAt(magnitude + 0.25)).toBeGreaterThan(rmsErrorArcsec);
  });
  test('a budget that nothing meets leaves no usable star', () => {
    const strict = { ...rig, budget: { ...rig.budget, fwhmGrowthPercent: 1e-9 } };
    const { leastError: bound, measured, usable } = guideStarLimit(strict, { focusShiftUm: 150, ...quick });
    expect([bound, measured, usable]).toEqual([undefined, undefined, undefined]);
    const odds = guideStarOdds(strict, { galacticLatitudeDeg: 30, focusShiftUm: 150, ...quick });
    expect(odds.chances[0].expectedStars.value).toBe(0);
    expect(odds.chances[0].atLeastOne.value).toBe(0);
    expect(odds.positionsFor95).toBeUndefined();
  });
});

describe('is there a star', () => {
  const place = { galacticLatitudeDeg: 90 };
  const limit = guideStarLimit(rig, { focusShiftUm: 300, ...quick });
  const odds = guideStarOddsOf(rig, limit, { ...place, positions: [1, 3], offAxisMm: 12 });
  test('expected stars are count times field', () => {
    const count = starsPerDeg2({ magnitude: limit.usable?.magnitude ?? Number.NaN, galacticLatitudeDeg: 90 });
    // 1280 x 960 pixels of 4 um at 750 mm
    const degPerMm = 180 / Math.PI / 750;
    const deg2 = 5.12 * 3.84 * degPerMm ** 2;
    expectWithin(odds.fieldArcmin2, 3600 * deg2, 1e-9, 'small angles');
    expectWithin(odds.chances[0].expectedStars.value, count.perDeg2 * deg2, 1e-9, 'count times field');
    expectWithin(odds.chances[1].expectedStars.value, 3 * count.perDeg2 * deg2, 1e-9, 'three fields');
  });
  test('one call does the same as two', () => {
    expect(guideStarOdds(rig, { ...place, focusShiftUm: 300, ...quick })).toEqual(
      guideStarOddsOf(rig, limit, place),
    );
  });
  test('a whole turn is the ring that the field sweeps', () => {
    expectWithin(
      odds.wholeTurn?.positions ?? 0,
      (2 * Math.PI * 12) / 5.12,
      1e-12,
      'circumference over width',
    );
    expect(guideStarOddsOf(rig, limit, place).wholeTurn).toBeUndefined();
  });
  test('the fewest positions for 95 % are enough, and one less is not', () => {
    const small = { widthMm: 0.5, heightMm: 0.5 };
    const {
      positionsFor95 = 0,
      chances,
      count,
      fieldArcmin2,
    } = guideStarOddsOf(rig, limit, { ...place, field: small });
    expect(positionsFor95).toBeGreaterThan(2);
    const at = (n: number) =>
      chanceOf(n, (n * count.perDeg2 * fieldArcmin2) / 3600, Math.log(count.uncertaintyFactor)).atLeastOne
        .value;
    expect(at(positionsFor95)).toBeGreaterThanOrEqual(0.95);
    expect(at(positionsFor95 - 1)).toBeLessThan(0.95);
    expectWithin(chances[0].atLeastOne.value, at(1), 1e-12, 'one position');
  });
  test('a field lit beyond the sensor is the sensor', () => {
    const wide = guideStarOddsOf(rig, limit, { ...place, field: { widthMm: 50, heightMm: 2 } });
    expect(wide.fieldMm).toEqual({ widthMm: 5.12, heightMm: 2 });
  });
  test('a pick-off that lets half of the light pass asks for a brighter star', () => {
    const half = guideStarLimit(rig, { focusShiftUm: 300, keptFraction: 0.5, ...quick });
    const lost = limit.detected.magnitude - half.detected.magnitude;
    // Between that of a star in read noise (2.5 log10 2) and that in sky light, which is halved as well (half
    // of it).
    expect(lost).toBeGreaterThan(0.37);
    expect(lost).toBeLessThan(0.76);
  });
  test('refuses what cannot be', () => {
    const bad = (changes: object) => () =>
      guideStarOdds(rig, { ...place, focusShiftUm: 300, ...quick, ...changes });
    expect(bad({ galacticLatitudeDeg: -95 })).toThrow(/galacticLatitudeDeg/);
    expect(bad({ keptFraction: 0 })).toThrow(/keptFraction must be in \(0, 1\], got 0/);
    expect(bad({ positions: [1, 2.5] })).toThrow(/positions must be whole numbers .* got 2.5/);
    expect(bad({ offAxisMm: 1 })).toThrow(/offAxisMm must be at least half the field's height/);
    expect(bad({ field: { widthMm: -1, heightMm: 1 } })).toThrow(/field.widthMm/);
    expect(bad({ leastSnr: 0 })).toThrow(/leastSnr/);
  });
});
