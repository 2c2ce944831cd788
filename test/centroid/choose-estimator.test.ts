/** The ready rule: what it picks holds on frames, and it says why. */
import { chooseEstimator, type RatedEstimator } from '@holdfast/centroid';
import { createImage, prepareStar, randomStream, renderStar, type StarShape } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { fillNoisyFrame } from './noisy-frames.ts';

const camera = { readNoiseE: 1.5, backgroundE: 12 };
const annulus = (outerDiameterPx: number): StarShape => ({
  kind: 'annulus',
  outerDiameterPx,
  obstructionRatio: 0.35,
  blurFwhmPx: 2.5,
});
/** A ring as it is expected, a quarter of a pixel off the middle of one. */
const star = (outerDiameterPx: number, flux: number) => {
  const side = outerDiameterPx + 23;
  const at = { x: (side - 1) / 2 + 0.25, y: (side - 1) / 2 + 0.15 };
  return { expected: renderStar(annulus(outerDiameterPx), { width: side, height: side, ...at, flux }), at };
};

describe('what is chosen', () => {
  for (const [diameter, flux, frames] of [
    [0, 1000, 600],
    [6, 3000, 600],
    [12, 8000, 500],
    [24, 60_000, 400],
  ])
    test(`ring of ${diameter} px, ${flux} electrons: does what was promised, and none of the others does better`, () => {
      const plan = prepareStar(annulus(diameter), { width: diameter + 19, height: diameter + 21 });
      const { width, height } = plan;
      const choice = chooseEstimator(star(diameter, flux), camera, { template: plan });
      if (!choice.ok) throw new Error(choice.reason);
      const middle = { x: (width - 1) / 2, y: (height - 1) / 2 };
      const options = { noise: { readNoiseE: 1.5, backgroundE: 12 }, guess: middle };
      const measure = choice.prepare({ width, height }, options);
      const expected = new Float64Array(width * height);
      const frame = new Float64Array(expected.length);
      let squares = 0;
      for (let i = 0; i < frames; i++) {
        const random = randomStream('choice', diameter, i);
        const x = middle.x + random.uniform() - 0.5;
        const y = middle.y + random.uniform() - 0.5;
        plan.renderInto(expected, x, y, flux);
        fillNoisyFrame(frame, expected, camera, random);
        const found = measure(frame);
        if (!found.ok) throw new Error(found.reason);
        squares += (found.x - x) ** 2 + (found.y - y) ** 2;
      }
      const rms = Math.sqrt(squares / (2 * frames));
      const error = 3.5 / Math.sqrt(4 * frames);
      expectWithin(rms / choice.rmsPx, 1, 0.05 + error, 'predicted to first order; 3.5 standard errors');
      expect(choice.boundRatio).toBeLessThan(1.06);
      for (const other of choice.rated) expect(choice.rmsPx).toBeLessThanOrEqual(1.03 * other.rmsPx);
    });

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
