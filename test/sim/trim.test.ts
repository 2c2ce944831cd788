import { buildScene, measureError } from '@holdfast/sim';
import { resultOf, smallestTrims, trimKinds } from '@holdfast/sim/internal';
import { beforeAll, describe, expect, test } from 'vitest';
import { type Assessment, assess as assessInSteps, judge } from '../../packages/sim/src/advice/assessment.ts';
import { cheapestTrim, type Trim } from '../../packages/sim/src/advice/trim.ts';
import { combinationsOf, variationsOf } from '../../packages/sim/src/advice/variation.ts';
import { expectWithin } from '../expect-within.ts';
import { smallRig } from './small-rig.ts';

const assess = (...args: Parameters<typeof assessInSteps>) => resultOf(assessInSteps(...args));

const filters = [
  { name: 'Luminance', focusShiftUm: 0 },
  { name: 'O III', focusShiftUm: 400 },
];
const rig = smallRig({ guideStar: { magnitude: 13.5 }, filters });
const options = { seed: 1, trials: 256 };
const setting = { focusShiftUm: 400 };

describe('changes that bring a star back into the budget', () => {
  let now: Assessment;
  let trims: readonly Trim[];
  beforeAll(async () => {
    now = assess(rig, setting, rig.tracking.estimator, options);
    trims = await smallestTrims(rig, setting, now, options);
  });
  const trim = (kind: string) => trims.find(({ kinds }) => kinds.length === 1 && kinds[0] === kind);

  test('the star is outside, and more than one kind of change helps', () => {
    expect(now.verdict).toBe('outside');
    expect(trims.length).toBeGreaterThan(2);
  });
  test('each stands within the budget with its change, and says what that costs', () => {
    for (const { assessment, change, cost } of trims) {
      expect(assessment.verdict).toBe('within');
      expect(change.length).toBeGreaterThan(5);
      expect(cost.length).toBeGreaterThan(5);
    }
  });
  test('they come in the order of what they cost, and none is cheaper than the cheapest', async () => {
    const places = trims.map(({ kinds }) => trimKinds.indexOf(kinds[0]));
    expect(places).toEqual([...places].sort((a, b) => a - b));
    const { trim: cheapest, tried } = await cheapestTrim(rig, setting, now, options);
    expect(cheapest?.assessment.verdict).toBe('within');
    const order = combinationsOf(variationsOf(rig, now, {}));
    const kindsOf = (at: number) => order[at].map(({ kind }) => kind);
    expect(kindsOf(tried - 1)).toEqual(cheapest?.kinds);
    for (const { change } of trims)
      expect(
        order.findIndex((each) => each.map((one) => one.change).join(' and ') === change),
      ).toBeGreaterThanOrEqual(tried - 1);
  });
  test('of several stars it names the smallest number that is within, by the noise of one', () => {
    const { loop: { stars = 0 } = {}, assessment } = trim('several-stars') ?? {};
    expect(stars).toBeGreaterThanOrEqual(2);
    const one = judge(rig, now.scene, now.error, { stars: stars / 2 });
    expect(one.verdict).not.toBe('within');
    // Noise of the loop as 1 / sqrt(stars)
    const alone = now.growth?.terms.guideStarArcsec ?? 0;
    const ratio = (assessment?.growth?.terms.guideStarArcsec ?? 0) / alone;
    // A closer look may have taken more trials.
    expectWithin(ratio * Math.sqrt(stars), 1, 0.05, 'two standard errors of 256 trials');
  });
  test('of brighter stars it names the faintest that is within', () => {
    const { assessment } = trim('brighter-star') ?? {};
    const factor = (assessment?.scene.fluxE ?? 0) / now.scene.fluxE;
    const magnitudes = 2.5 * Math.log10(factor);
    expect([0.5, 1]).toContainEqual(expect.closeTo(magnitudes, 6));
  });
  test('a longer exposure gathers as much more light, and is corrected less often', () => {
    const longer = variationsOf(rig, now, {}).find(({ kind }) => kind === 'exposure');
    const changed = longer?.apply({ setting, estimator: { estimator: rig.tracking.estimator }, loop: {} });
    const assessment = assess(rig, changed?.setting ?? setting, rig.tracking.estimator, options);
    expect(assessment.scene.exposureS / now.scene.exposureS).toBe(2);
    expectWithin(assessment.scene.fluxE / now.scene.fluxE, 2, 1e-9, 'rounding');
    const other = (each: Assessment) => each.growth?.terms.otherTrackingArcsec ?? 0;
    expect(other(assessment)).toBeGreaterThan(other(now));
  });
});

test('only a threshold that is used can be changed', async () => {
  const byMass = smallRig({
    guideStar: { magnitude: 13.5 },
    filters,
    tracking: { estimator: 'centerOfMass', available: ['centerOfMass'] },
  });
  const now = assess(byMass, setting, 'centerOfMass', options);
  const kinds = variationsOf(byMass, now, {}).map(({ kind }) => kind);
  expect(kinds).not.toContain('threshold');
  expect(kinds).not.toContain('method');
});

test('where nothing helps it says how many combinations were tried', async () => {
  const far = { focusShiftUm: 1800 };
  const now = assess(rig, far, rig.tracking.estimator, options);
  const { trim, tried } = await cheapestTrim(rig, far, now, options);
  expect(trim).toBeUndefined();
  expect(tried).toBe(combinationsOf(variationsOf(rig, now, {})).length);
  expect(tried).toBeGreaterThan(100);
});

test('a combination changes each kind of thing once, and the cheapest come first', () => {
  const now = assess(rig, setting, rig.tracking.estimator, options);
  const all = combinationsOf(variationsOf(rig, now, {}));
  const price = (each: (typeof all)[number]) => each.reduce((sum, one) => sum + one.price, 0);
  for (const [i, each] of all.entries()) {
    expect(new Set(each.map(({ kind }) => kind)).size).toBe(each.length);
    expect(each.length).toBeLessThanOrEqual(3);
    if (i > 0) expect(price(each)).toBeGreaterThanOrEqual(price(all[i - 1]));
  }
});

test('a star that saturates is flagged, measured, and not lost', () => {
  const bright = smallRig({ guideStar: { magnitude: 10.5 } });
  const scene = buildScene(bright, { focusShiftUm: 0 });
  for (const estimator of ['thresholdedCenterOfMass', 'pointSymmetryCenter'] as const) {
    const error = measureError(scene, { ...options, estimator });
    expect(error.saturatedFraction.value).toBeGreaterThan(0.5);
    expect(error.lostFraction.value).toBe(0);
    expect(error.noiseEquivalentPx?.value).toBeLessThan(0.1);
  }
});

test('the search can be canceled', async () => {
  const now = assess(rig, setting, rig.tracking.estimator, options);
  const signal = AbortSignal.abort(new Error('enough'));
  await expect(smallestTrims(rig, setting, now, { ...options, signal })).rejects.toThrow('enough');
});
