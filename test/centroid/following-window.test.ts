/** What a center of mass states of its own error when its window of whole pixels follows the star. */
import { predictError, prepareCenterOfMass, prepareThresholdedCenterOfMass } from '@holdfast/centroid';
import { createImage, prepareStar, randomStream, type StarShape } from '@holdfast/psf';
import { expect, test } from 'vitest';
import { fluxForSnr } from '../../packages/sim/src/trials/matched-snr.ts';
import { expectWithin } from '../expect-within.ts';
import { fillNoisyFrame } from './noisy-frames.ts';

const noise = { backgroundE: 12, readNoiseE: 2 };
const emptyVariance = 16;

function prepareCase(shape: StarShape, radiusPx: number, snr: number) {
  const middle = Math.ceil(radiusPx + 3);
  const size = { width: 2 * middle + 1, height: 2 * middle + 1 };
  const plan = prepareStar(shape, size);
  const expected = new Float64Array(size.width * size.height);
  const frame = new Float64Array(expected.length);
  plan.renderInto(expected, middle, middle, 1);
  const flux = fluxForSnr(expected, emptyVariance, snr);
  const measure = prepareCenterOfMass(size, {
    noise: { readNoiseE: noise.readNoiseE, backgroundE: noise.backgroundE },
    radiusPx,
  });
  return (x: number, y: number, stream: number) => {
    const random = randomStream('following aperture', snr, stream);
    plan.renderInto(expected, middle + x, middle + y, flux);
    fillNoisyFrame(frame, expected, noise, random);
    const found = measure(frame, { x: middle, y: middle });
    if (!found.ok || found.sigmaX === undefined || found.sigmaY === undefined) return undefined;
    const { sigmaX, sigmaY } = found;
    return { dx: found.x - middle - x, dy: found.y - middle - y, sigmaX, sigmaY };
  };
}

// To first order, and with the gain taken from one frame's noisy rim, their pulls are 1.1 to 1.24.
test.each<[string, StarShape, number]>([
  ['Gaussian', { kind: 'gaussian', fwhmPx: 3 }, 5],
  ['Moffat', { kind: 'moffat', fwhmPx: 3, beta: 3 }, 7],
  ['ring', { kind: 'annulus', outerDiameterPx: 14, obstructionRatio: 0.4, blurFwhmPx: 2.8 }, 10.5],
  ['comet', { kind: 'coma', sagittalComaPx: 4, angleDeg: 30, obstructionRatio: 0.35, blurFwhmPx: 2.8 }, 9],
])('a faint %s: errors over stated errors have an rms near 1', (_, shape, radiusPx) => {
  const frames = 1200;
  const measureAt = prepareCase(shape, radiusPx, 8);
  const places = randomStream('places in the pixel');
  let squares = 0;
  let count = 0;
  for (let i = 0; i < frames; i++) {
    const found = measureAt(places.uniform() - 0.5, places.uniform() - 0.5, i);
    if (found === undefined) continue;
    squares += (found.dx / found.sigmaX) ** 2 + (found.dy / found.sigmaY) ** 2;
    count += 2;
  }
  expect(count).toBeGreaterThan(1.9 * frames);
  expectWithin(
    Math.sqrt(squares / count),
    1,
    0.05 + 3 / Math.sqrt(2 * count),
    'second order at SNR 8; 3 standard errors',
  );
});

test.each([
  [12, 10],
  [24, 10],
])(
  'a ring of %d px at SNR %d above 2 sigma: stated and predicted errors are those of the frames',
  (diameterPx, snr) => {
    const radiusPx = diameterPx / 2 + 4.5;
    const middle = Math.ceil(radiusPx + 8);
    const size = { width: 2 * middle + 1, height: 2 * middle + 1 };
    const plan = prepareStar(
      { kind: 'annulus', outerDiameterPx: diameterPx, obstructionRatio: 0.35, blurFwhmPx: 2.8 },
      size,
    );
    const expected = createImage(size.width, size.height);
    plan.renderInto(expected.data, middle, middle, 1);
    const flux = fluxForSnr(expected.data, emptyVariance, snr);
    const at = { x: middle + 0.3, y: middle - 0.2 };
    plan.renderInto(expected.data, at.x, at.y, flux);
    const own = { thresholdSigma: 2, radiusPx, noise };
    const predicted = predictError(expected, { estimator: 'thresholdedCenterOfMass', at, ...own });
    if (!predicted.ok) throw new Error(predicted.reason);
    const measure = prepareThresholdedCenterOfMass(size, own);
    const frame = new Float64Array(expected.data.length);
    let squares = 0;
    let pulls = 0;
    let count = 0;
    for (let i = 0; i < 400; i++) {
      fillNoisyFrame(frame, expected.data, noise, randomStream('following threshold', diameterPx, i));
      const found = measure(frame, at);
      if (!found.ok || found.sigmaX === undefined || found.sigmaY === undefined) continue;
      const dx = found.x - at.x - predicted.biasX;
      const dy = found.y - at.y - predicted.biasY;
      squares += dx ** 2 + dy ** 2;
      pulls += (dx / found.sigmaX) ** 2 + (dy / found.sigmaY) ** 2;
      count += 2;
    }
    expect(count).toBeGreaterThan(2 * 0.95 * 400);
    const chance = 3 / Math.sqrt(2 * count);
    const sigma = Math.sqrt((predicted.sigmaX ** 2 + predicted.sigmaY ** 2) / 2);
    expectWithin(sigma / Math.sqrt(squares / count), 1.02, 0.06 + chance, 'predicted; 3 standard errors');
    // With a trial step of the window of 1 px at most it was 1.2.
    expectWithin(Math.sqrt(pulls / count), 1, 0.08 + chance, 'stated; 3 standard errors');
  },
);

test('a window that cuts through the star: the stated error is right at each place in the pixel', () => {
  const perPlace = 250;
  const measureAt = prepareCase({ kind: 'gaussian', fwhmPx: 4 }, 4, 60);
  let squares = 0;
  for (let place = 0; place < 16; place++) {
    const x = (place + 0.5) / 16 - 0.5;
    const y = (((5 * place) % 16) + 0.5) / 16 - 0.5;
    let sum = 0;
    let sumSquares = 0;
    let stated = 0;
    for (let i = 0; i < perPlace; i++) {
      const found = measureAt(x, y, place * perPlace + i);
      if (found === undefined) throw new Error('lost');
      sum += found.dx;
      sumSquares += found.dx ** 2;
      stated += found.sigmaX;
    }
    const scatter = Math.sqrt((sumSquares - sum ** 2 / perPlace) / (perPlace - 1));
    squares += Math.log(stated / perPlace / scatter) ** 2;
  }
  // Chance alone makes 0.045; a rim of 1 px taken as smooth makes 0.14.
  expect(Math.sqrt(squares / 16)).toBeLessThan(0.1);
});
