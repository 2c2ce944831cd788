import { simulateFrames } from '@holdfast/sim';
import { prepareEstimator, smallestTrims, trimKinds } from '@holdfast/sim/internal';
import { beforeAll, describe, expect, test } from 'vitest';
import { judge, type Standing, standingOf } from '../../packages/sim/src/advice/standing.ts';
import { cheapestTrim, type Trim } from '../../packages/sim/src/advice/trim.ts';
import { measureError } from '../../packages/sim/src/trials/measure-error.ts';
import { buildScene } from '../../packages/sim/src/trials/scene.ts';
import { errorOfSeveralStars } from '../../packages/sim/src/trials/several-stars.ts';
import { rmsPerAxis } from '../../packages/sim/src/trials/statistics.ts';
import { expectWithin, expectWithinSigmas } from '../expect-within.ts';
import { smallRig } from './small-rig.ts';

const rig = smallRig({ guideStar: { magnitude: 13.5 } });
const options = { seed: 1, trials: 256 };
const setting = { focusShiftUm: 560 };

describe('changes that bring a star back into the budget', () => {
  let now: Standing;
  let trims: readonly Trim[];
  beforeAll(async () => {
    now = standingOf(rig, setting, rig.tracking.estimator, options);
    trims = await smallestTrims(rig, setting, now, options);
  });
  const trim = (kind: string) => trims.find((each) => each.kind === kind);

  test('the star is outside, and more than one kind of change helps', () => {
    expect(now.verdict).toBe('outside');
    expect(trims.length).toBeGreaterThan(2);
  });
  test('each stands within the budget with its change, and says what that costs', () => {
    for (const { standing, change, cost } of trims) {
      expect(standing.verdict).toBe('within');
      expect(change.length).toBeGreaterThan(5);
      expect(cost.length).toBeGreaterThan(5);
    }
  });
  test('they come in the order of what they cost, and the first is the cheapest', async () => {
    const places = trims.map(({ kind }) => trimKinds.indexOf(kind));
    expect(places).toEqual([...places].sort((a, b) => a - b));
    const cheapest = await cheapestTrim(rig, setting, now, options);
    expect(cheapest).toEqual(trims[0]);
  });
  test('of several stars it names the smallest number that is within', () => {
    const { stars = 0, standing } = trim('several-stars') ?? {};
    expect(stars).toBeGreaterThanOrEqual(2);
    const one = judge(rig, now.scene, errorOfSeveralStars(now.error, stars - 1));
    expect(one.verdict).not.toBe('within');
    expect(standing?.growth?.growthPercent.value).toBeLessThan(5);
  });
  test('of brighter stars it names the faintest, to a quarter of a magnitude', () => {
    const { magnitudesBrighter = 0 } = trim('brighter-star') ?? {};
    expect(magnitudesBrighter).toBeGreaterThan(0);
    const fainter = { ...setting, magnitude: 13.5 - magnitudesBrighter + 0.25 };
    expect(standingOf(rig, fainter, rig.tracking.estimator, options).verdict).not.toBe('within');
    const { standing } = trim('brighter-star') ?? {};
    expectWithin(
      (standing?.scene.fluxE ?? 0) / now.scene.fluxE,
      10 ** (0.4 * magnitudesBrighter),
      1e-9,
      'rounding',
    );
  });
  test('a longer exposure gathers as much more light', () => {
    const { standing } = trim('exposure') ?? {};
    const factor = (standing?.scene.exposureS ?? 0) / now.scene.exposureS;
    expect([1.5, 2, 3, 4]).toContain(factor);
    expectWithin((standing?.scene.fluxE ?? 0) / now.scene.fluxE, factor, 1e-9, 'rounding');
  });
});

test('only a threshold that is used can be changed', async () => {
  const byMass = smallRig({ guideStar: { magnitude: 13.5 }, tracking: { estimator: 'centerOfMass' } });
  const now = standingOf(byMass, { focusShiftUm: 900 }, 'centerOfMass', options);
  expect(now.verdict).toBe('outside');
  const kinds = (await smallestTrims(byMass, { focusShiftUm: 900 }, now, options)).map(({ kind }) => kind);
  expect(kinds).not.toContain('threshold');
});

test('where the least possible error is outside the budget no way of measuring is tried', async () => {
  const far = { focusShiftUm: 2000 };
  const now = standingOf(rig, far, rig.tracking.estimator, options);
  const kinds = (
    await smallestTrims(rig, far, now, { ...options, mostStars: 200, mostMagnitudesBrighter: 4 })
  ).map(({ kind }) => kind);
  for (const kind of ['estimator', 'threshold', 'window']) expect(kinds).not.toContain(kind);
  // Enough light helps any star.
  expect(kinds).toContain('brighter-star');
});

test('a star that saturates is exposed for less, not given more light', async () => {
  const bright = smallRig({ guideStar: { magnitude: 10.5 } });
  const inFocus = { focusShiftUm: 0 };
  const now = standingOf(bright, inFocus, bright.tracking.estimator, options);
  expect(now.error.lostReasons.saturated).toBeGreaterThan(128);
  const trims = await smallestTrims(bright, inFocus, now, { ...options, mostStars: 64 });
  expect(trims.map(({ kind }) => kind)).toEqual(['exposure']);
  expect(trims[0].standing.scene.exposureS).toBeLessThan(2);
});

test('the search can be cancelled', async () => {
  const now = standingOf(rig, setting, rig.tracking.estimator, options);
  const signal = AbortSignal.abort(new Error('enough'));
  await expect(smallestTrims(rig, setting, now, { ...options, signal })).rejects.toThrow('enough');
});

describe('several stars averaged', () => {
  test('as in simulated frames of four stars', () => {
    const scene = buildScene(rig, setting);
    const stars = [0, 1, 2, 3].map((star) => simulateFrames(scene, `star ${star}`));
    const measure = prepareEstimator('centerOfMass', scene, stars[0].backgroundSigma);
    const trials = 512;
    const x = new Float64Array(trials);
    const y = new Float64Array(trials);
    for (let trial = 0; trial < trials; trial++)
      for (const frames of stars) {
        const frame = frames.frame(trial);
        const found = measure(frame.pixels, frame.background);
        if (!found.ok) throw new Error('lost');
        x[trial] += (found.x - frame.x) / 4;
        y[trial] += (found.y - frame.y) / 4;
      }
    const simulated = rmsPerAxis(x, y);
    const one = measureError(scene, { estimator: 'centerOfMass', seed: 'one', trials: 2048 });
    const { rmsPx = { value: 0, standardError: 0 } } = errorOfSeveralStars(one, 4);
    const error = Math.sqrt(simulated.standardError ** 2 + rmsPx.standardError ** 2);
    expectWithinSigmas(simulated.value, rmsPx.value, error, 4);
  });
  const error = measureError(buildScene(rig, { focusShiftUm: 700, fluxE: 600 }), {
    estimator: 'thresholdedCenterOfMass',
    seed: 2,
    trials: 512,
  });
  test('one star is the star itself; a frame is lost when all are', () => {
    const one = errorOfSeveralStars(error, 1);
    expectWithin(one.rmsPx?.value ?? 0, error.rmsPx?.value ?? 1, 1e-12, 'rounding');
    expect(error.lostFraction.value).toBeGreaterThan(0);
    expect(errorOfSeveralStars(error, 3).lostFraction.value).toBe(error.lostFraction.value ** 3);
  });
  test('the mean error, which is common to all, stays', () => {
    const steady = { value: 0.5, standardError: 0 };
    const biased = {
      ...error,
      biasXPx: steady,
      biasYPx: steady,
      rmsPx: { value: 1, standardError: 0.01 },
      rmsArcsec: { value: 1, standardError: 0.01 },
    };
    // 0.5^2 stays of 1, the rest falls to a quarter.
    expectWithin(
      errorOfSeveralStars(biased, 4).rmsPx?.value ?? 0,
      Math.sqrt(0.25 + 0.75 / 4),
      1e-12,
      'rounding',
    );
  });
  test.each([0, 1.5, Number.NaN])('%d stars are refused', (stars) => {
    expect(() => errorOfSeveralStars(error, stars)).toThrow(/stars must be a whole number/);
  });
});
