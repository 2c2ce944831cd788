/**
 * The predicted error of a thresholded center of mass on a grid of rings and brightnesses: within 10 % of the
 * scatter over frames wherever at least 90 % of the frames give a position, and no prediction elsewhere.
 */
import { predictError, prepareThresholdedCenterOfMass } from '@holdfast/centroid';
import { createImage, prepareStar, randomStream } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { fluxForSnr } from '../../packages/sim/src/trials/matched-snr.ts';
import { expectWithin } from '../expect-within.ts';
import { fillNoisyFrame } from './noisy-frames.ts';

const noise = { backgroundE: 10, readNoiseE: 1.5 };
const emptyVariance = 10 + 1.5 ** 2;
const blurFwhmPx = 2.8;
const frames = 200;

/**
 * Half sides of the square window for a ring of a diameter: matched to it, or set once for the largest ring.
 */
const windows: Record<string, { rings: number[]; halfFor: (diameterPx: number) => number }> = {
  'matched to the ring': {
    rings: [0, 6, 12, 24, 40],
    halfFor: (d) => Math.ceil(d / 2 + 1.25 * blurFwhmPx + 1),
  },
  'set once for 40 px': { rings: [0, 12], halfFor: () => 24 },
};

function simulate(diameterPx: number, snr: number, half: number, thresholdSigma: number) {
  const side = 2 * half + 1;
  const size = { width: side, height: side };
  const plan = prepareStar(
    { kind: 'annulus', outerDiameterPx: diameterPx, obstructionRatio: 0.35, blurFwhmPx },
    size,
  );
  const expected = createImage(side, side);
  plan.renderInto(expected.data, half, half, 1);
  const flux = fluxForSnr(expected.data, emptyVariance, snr);
  const at = { x: half + 0.3, y: half - 0.2 };
  plan.renderInto(expected.data, at.x, at.y, flux);
  const predicted = predictError(expected, {
    estimator: 'thresholdedCenterOfMass',
    at,
    noise,
    thresholdSigma,
  });
  const measure = prepareThresholdedCenterOfMass(size, {
    thresholdSigma,
    noise: { readNoiseE: noise.readNoiseE, backgroundE: noise.backgroundE },
  });
  const frame = new Float64Array(side * side);
  const sums = { located: 0, x: 0, y: 0, xx: 0, yy: 0, stated: 0 };
  for (let i = 0; i < frames; i++) {
    fillNoisyFrame(frame, expected.data, noise, randomStream('predict', diameterPx, snr, i));
    const found = measure(frame);
    if (!found.ok) continue;
    const dx = found.x - at.x;
    const dy = found.y - at.y;
    sums.located++;
    sums.x += dx;
    sums.y += dy;
    sums.xx += dx * dx;
    sums.yy += dy * dy;
    sums.stated += ((found.sigmaX ?? 0) ** 2 + (found.sigmaY ?? 0) ** 2) / 2;
  }
  const n = sums.located;
  const scatter = Math.sqrt((sums.xx + sums.yy - (sums.x ** 2 + sums.y ** 2) / n) / (2 * n - 2));
  return { predicted, located: n / frames, scatter, stated: Math.sqrt(sums.stated / n) };
}

/** Two axes of `frames` errors each; 3 standard errors of their scatter. */
const chance = 3 / Math.sqrt(4 * frames);

describe.each(Object.entries(windows))('window %s', (_, { rings, halfFor }) => {
  test.each(rings)('ring of %d px', (diameterPx) => {
    let predictions = 0;
    for (const snr of [8, 15, 30, 100]) {
      const { predicted, located, scatter, stated } = simulate(diameterPx, snr, halfFor(diameterPx), 2);
      const what = `${diameterPx} px, SNR ${snr}, ${located} located`;
      if (!predicted.ok) {
        expect(located, `${what}: ${predicted.reason}`).toBeLessThan(0.95);
        continue;
      }
      predictions++;
      expect(located, what).toBeGreaterThan(0.85);
      const sigma = Math.sqrt((predicted.sigmaX ** 2 + predicted.sigmaY ** 2) / 2);
      expectWithin(sigma / scatter, 1, 0.1 + chance, `${what}: predicted; 3 standard errors`);
      expectWithin(stated / scatter, 1, 0.12 + chance, `${what}: by the frames themselves`);
    }
    expect(predictions).toBeGreaterThanOrEqual(3);
  });
});

test('no star, no prediction', () => {
  const { predicted, located } = simulate(24, 3, 17, 2);
  expect(located).toBeLessThan(0.7);
  expect(predicted).toEqual({ ok: false, reason: 'often-lost' });
});

test('where the sum of the weights is too noisy, no prediction though frames give positions', () => {
  const { predicted } = simulate(6, 8, 8, 3.5);
  expect(predicted.ok).toBe(false);
});
