/** The ready rule: what it picks, and that it says why. */
import { chooseEstimator, type RatedEstimator } from '@holdfast/centroid';
import { createImage, renderStar } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { camera, star } from './ring-to-choose-for.ts';

describe('what is chosen', () => {
  test('a wide ring without a template: its symmetry, not its center of mass', () => {
    const choice = chooseEstimator(star(24, 60_000), camera);
    if (!choice.ok) throw new Error(choice.reason);
    expect(choice.setting.estimator).toBe('pointSymmetryCenter');
    const ratio = (name: RatedEstimator['setting']['estimator']) =>
      choice.rated.find(({ setting }) => setting.estimator === name)?.boundRatio;
    // sqrt(s^2 + R^2 (1 + e^2) / 4) over sqrt(s R (1 - e) / 0.9032), both to sqrt(N): 6.44 / 3.02 without a
    // background
    expectWithin(ratio('centerOfMass') ?? 0, 1.95, 0.25, 'the background adds to both');
    expect(choice.why).toMatch(
      /^center of symmetry within 16\.\d px: 0\.0\d+ px expected, 1\.0\d times the least possible 0\.0\d+ px; next best: center of mass/,
    );
  });

  test('the best first; the simplest of those that are as good', () => {
    const choice = chooseEstimator(star(0, 50_000), camera);
    if (!choice.ok) throw new Error(choice.reason);
    const rms = choice.rated.map(({ rmsPx }) => rmsPx);
    expect([...rms].sort((a, b) => a - b)).toEqual(rms);
    expect(choice.rated[0].setting.estimator).toBe('gaussianFit');
    expect(choice.setting.estimator).toMatch(/enterOfMass/);
    expect(choice.why).toMatch(/hardly better, and less simple: Gaussian fit/);
  });

  test('an image of the star in place of its size, a comet for example', () => {
    const expected = renderStar(
      { kind: 'coma', sagittalComaPx: 3, angleDeg: 20, obstructionRatio: 0.35, blurFwhmPx: 2.5 },
      { width: 41, height: 37, x: 20.2, y: 18.1, flux: 20_000 },
    );
    let x = 0;
    let y = 0;
    for (let k = 0; k < expected.data.length; k++) {
      x += (expected.data[k] * (k % 41)) / 20_000;
      y += (expected.data[k] * Math.floor(k / 41)) / 20_000;
    }
    const template = { image: expected, x, y };
    const choice = chooseEstimator({ expected, at: { x, y } }, camera, { template });
    if (!choice.ok) throw new Error(choice.reason);
    // The others have a position of their own on a comet, which counts as their bias.
    expect(choice.setting.estimator).toMatch(/templateFit|crossCorrelation/);
    const gaussian = choice.rated.find(({ setting }) => setting.estimator === 'gaussianFit');
    expect(gaussian?.biasPx ?? 1).toBeGreaterThan(0.05);
  });
});

describe('what cannot be chosen', () => {
  test('too faint, or no light', () => {
    expect(chooseEstimator(star(30, 300), camera)).toEqual({ ok: false, reason: 'too-faint' });
    expect(chooseEstimator(star(30, 0), camera)).toEqual({ ok: false, reason: 'no-flux' });
    expect(chooseEstimator({ expected: createImage(9, 9), at: { x: 4, y: 4 } }, camera)).toEqual({
      ok: false,
      reason: 'no-flux',
    });
  });
  test('a star without an image, or without a place in it', () => {
    const { expected, at } = star(3, 300);
    expect(() => chooseEstimator({ expected, at: { x: Number.NaN, y: 3 } }, camera)).toThrow(/star\.at\.x/);
    expect(() => chooseEstimator({ expected: undefined as never, at }, camera)).toThrow(/image/);
  });
  test('a camera out of range', () => {
    expect(() => chooseEstimator(star(3, 300), { readNoiseE: -1 })).toThrow(/camera\.readNoiseE/);
    expect(() => chooseEstimator(star(3, 300), { readNoiseE: 1, backgroundE: -1 })).toThrow(
      /camera\.backgroundE/,
    );
  });
});
