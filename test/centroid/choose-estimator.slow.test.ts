/** What the ready rule picks does on frames what was promised. */
import { chooseEstimator } from '@holdfast/centroid';
import { prepareStar, randomStream } from '@holdfast/psf';
import { expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';
import { fillNoisyFrame } from './noisy-frames.ts';
import { annulus, camera, star } from './ring-to-choose-for.ts';

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
