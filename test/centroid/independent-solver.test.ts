/**
 * The fits against a general-purpose least-squares solver that knows nothing of stars:
 * ml-levenberg-marquardt, with numerical derivatives and a model of its own making (erf by Abramowitz &
 * Stegun's relation to the incomplete gamma series).
 */
import { gaussianFit } from '@holdfast/centroid';
import { createImage, prepareExposure, randomStream, renderStar } from '@holdfast/psf';
import { levenbergMarquardt } from 'ml-levenberg-marquardt';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';

const width = 15;
const height = 14;

/** erf by its Taylor series, exact to rounding for the small arguments here, and 1 beyond 4. */
function erf(x: number): number {
  if (Math.abs(x) > 4) return Math.sign(x);
  let term = x;
  let sum = x;
  for (let n = 1; Math.abs(term) > 1e-17; n++) {
    term *= (-x * x) / n;
    sum += term / (2 * n + 1);
  }
  return (2 / Math.sqrt(Math.PI)) * sum;
}

const share = (place: number, center: number, sigma: number): number =>
  0.5 *
  (erf((place + 0.5 - center) / (Math.SQRT2 * sigma)) - erf((place - 0.5 - center) / (Math.SQRT2 * sigma)));

const model =
  ([x, y, sigma, flux, level]: number[]) =>
  (k: number): number =>
    level + flux * share(k % width, x, sigma) * share(Math.floor(k / width), y, sigma);

function noisyStar(seed: number, flux: number): Float64Array {
  const random = randomStream('independent solver', seed);
  const star = renderStar(
    { kind: 'gaussian', fwhmPx: 3.1 },
    { width, height, x: 6.4 + 0.5 * random.uniform(), y: 7.2 + 0.5 * random.uniform(), flux },
  );
  for (let k = 0; k < star.data.length; k++) star.data[k] += 12;
  const out = new Float64Array(width * height);
  const camera = { readNoiseE: 2, gainEPerAdu: 0.5, offsetAdu: 100, bitDepth: 16, fullWellE: 30_000 };
  prepareExposure(camera, { width, height }).exposeInto(out, star.data, random);
  return out;
}

describe('unweighted Gaussian fit', () => {
  test.each([600, 5000, 40_000])('of %d electrons: the same minimum as the other solver finds', (flux) => {
    for (let seed = 0; seed < 3; seed++) {
      const pixels = noisyStar(seed, flux);
      const ours = gaussianFit(createImage(width, height, pixels));
      if (!ours.ok) throw new Error(ours.reason);
      const theirs = levenbergMarquardt({ x: Array.from(pixels.keys()), y: Array.from(pixels) }, model, {
        initialValues: [7, 7, 1.5, flux, 10],
        gradientDifference: [1e-5, 1e-5, 1e-5, flux * 1e-6, 1e-4],
        damping: 0.01,
        // No rule of its own ends it on noisy pixels; 40 steps end within the tolerances here.
        maxIterations: 40,
        errorTolerance: 1e-12,
        centralDifference: true,
      }).parameterValues;
      const [x, y, sigma, theirFlux, level] = theirs;
      expectWithin(ours.x, x, 2e-4, 'a hundredth of the noise, and the other solver stops by its own rule');
      expectWithin(ours.y, y, 2e-4, 'the same');
      expectWithin(ours.fwhmPx, 2.3548200450309493 * sigma, 2e-3, 'the same');
      expectWithin(ours.flux / theirFlux, 1, 1e-3, 'the same');
      expectWithin(ours.backgroundE, level, 0.02, 'the same');
    }
  });
  test('the comparison can fail: another star is not the same minimum', () => {
    const a = gaussianFit(createImage(width, height, noisyStar(1, 5000)));
    const b = gaussianFit(createImage(width, height, noisyStar(2, 5000)));
    expect(a.ok && b.ok && Math.abs(a.x - b.x)).toBeGreaterThan(2e-3);
  });
});
