/** What a center of mass states of its own error when its aperture of whole pixels follows the star. */
import { prepareCenterOfMass } from '@holdfast/centroid';
import { prepareStar, randomStream, type StarShape } from '@holdfast/psf';
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

// Beside each case its pull with the gain taken from one frame's noisy rim.
test.each<[string, StarShape, number, string]>([
  ['Gaussian', { kind: 'gaussian', fwhmPx: 3 }, 5, '1.14'],
  ['Moffat', { kind: 'moffat', fwhmPx: 3, beta: 3 }, 7, '1.24'],
  ['ring', { kind: 'annulus', outerDiameterPx: 14, obstructionRatio: 0.4, blurFwhmPx: 2.8 }, 10.5, '1.23'],
])('a faint %s: errors over stated errors have an rms near 1', (_, shape, radiusPx) => {
  const frames = 1200;
  const measureAt = prepareCase(shape, radiusPx, 10);
  const places = randomStream('places in the pixel');
  let squares = 0;
  let count = 0;
  for (let i = 0; i < frames; i++) {
    const found = measureAt(places.uniform() - 0.5, places.uniform() - 0.5, i);
    if (found === undefined) continue;
    squares += (found.dx / found.sigmaX) ** 2 + (found.dy / found.sigmaY) ** 2;
    count += 2;
  }
  expect(count).toBeGreaterThan(1.99 * frames);
  expectWithin(
    Math.sqrt(squares / count),
    1,
    0.07 + 3 / Math.sqrt(2 * count),
    'first order at SNR 10; 3 standard errors',
  );
});

test('an aperture that cuts through the star: the stated error is right at each place in the pixel', () => {
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
