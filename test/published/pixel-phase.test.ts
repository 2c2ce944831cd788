/** What pixels and windows do to the center of mass of a noiseless Gaussian star. */
import { centerOfMass, predictError } from '@holdfast/centroid';
import { renderStar } from '@holdfast/psf';
import { describe } from 'vitest';
import { gaussian } from './expected-star.ts';
import { checkPublished } from './published.ts';

const series =
  'error = (1/pi) sum over k of ((-1)^k / k) exp(-2 pi^2 sigma^2 k^2) sin(2 pi k x), the analysis of Alexander & Ng 1991, Opt. Eng. 30, 1320 (from memory); derived, confirmed numerically';

/**
 * Error of the center of mass along x for a star `offset` px right of the middle of a window of odd width.
 */
function errorAt(sigma: number, offset: number, width: number): number {
  const height = 41;
  const middle = (width - 1) / 2;
  const star = renderStar(gaussian(sigma), { width, height, x: middle + offset, y: 20.3, flux: 1000 });
  const found = centerOfMass(star);
  if (!found.ok) throw new Error(found.reason);
  return found.x - middle - offset;
}

/** Largest error and its rms over the pixel, at 400 places. */
function overPixel(sigma: number): { largest: number; rms: number } {
  let largest = 0;
  let squares = 0;
  const places = 400;
  for (let i = 0; i < places; i++) {
    const error = errorAt(sigma, (i + 0.5) / places - 0.5, 41);
    largest = Math.max(largest, Math.abs(error));
    squares += error * error;
  }
  return { largest, rms: Math.sqrt(squares / places) };
}

describe('a window without end', () => {
  // sigma, px; then largest error, error at x = 0.25 and rms over the pixel, px
  for (const [sigma, largest, quarter, rms] of [
    [0.1, 0.28554, -0.24379, 0.19208],
    [0.2, 0.14507, -0.14444, 0.10228],
    [0.25, 0.092723, -0.092694, 0.065535],
    [0.3, 0.053866, -0.053866, 0.038079],
    [0.35, 0.02836, -0.02836, 0.020048],
    [0.4, 0.013528, -0.013528, 0.0095633],
    [0.5, 2.2892e-3, -2.2892e-3, 1.6183e-3],
    [0.6, 2.6104e-4, -2.6104e-4, 1.8454e-4],
    [0.7, 2.0057e-5, -2.0057e-5, 1.418e-5],
    [0.8, 1.0384e-6, -1.0384e-6, 7.34e-7],
  ]) {
    const digit = 1e-5 * Math.abs(quarter) + 4e-9;
    const what = `sigma ${sigma} px`;
    checkPublished(
      {
        what: `error 0.25 px off the pixel center, ${what}, px`,
        value: quarter,
        tolerance: 2 * digit + 5e-6 * (sigma < 0.3 ? 1 : 0),
        source: series,
        note: 'half a unit of the fifth digit',
      },
      () => errorAt(sigma, 0.25, 41),
    );
    checkPublished(
      {
        what: `largest error, ${what}, px`,
        value: largest,
        tolerance: (sigma < 0.2 ? 4e-3 : 1e-4) * largest,
        source: series,
        note: 'sought at 400 places in the pixel; at sigma 0.1 the error changes by half within 0.05 px of the edge',
      },
      () => overPixel(sigma).largest,
    );
    checkPublished(
      {
        what: `rms error over the pixel, ${what}, px`,
        value: rms,
        tolerance: (sigma < 0.2 ? 1e-3 : 4e-4) * rms,
        source: series,
        note: 'the number is 2.5e-4 below the largest over sqrt 2: a mean that counts both ends of the pixel, where the error is 0',
      },
      () => overPixel(sigma).rms,
    );
  }

  for (const [sigma, amplitude] of [
    [0.1, 0.2613],
    [0.2, 0.1445],
    [0.25, 0.0927],
    [0.3, 0.05387],
    [0.4, 0.01353],
    [0.5, 2.289e-3],
    [0.6, 2.61e-4],
    [0.7, 2.006e-5],
    [0.8, 1.038e-6],
  ])
    checkPublished(
      {
        what: `first harmonic of the error, (1/pi) exp(-2 pi^2 sigma^2), sigma ${sigma} px`,
        value: amplitude,
        tolerance: 6e-4 * amplitude,
        source: series,
        note: 'half a unit of the fourth digit',
      },
      () => {
        const places = 64;
        let sum = 0;
        for (let i = 0; i < places; i++)
          sum -= errorAt(sigma, i / places - 0.5, 41) * Math.sin(2 * Math.PI * (i / places - 0.5));
        return (2 * sum) / places;
      },
    );
});

describe('a window that ends', () => {
  const source =
    'Gaussian integrated over pixels, window centered on the pixel; derived, confirmed numerically';
  // sigma; error at x = 0.25 in windows of 3, 5, 7, 9, 13 px; change of the measured per change of the true
  // place, 7 px
  for (const [sigma, three, five, seven, nine, thirteen, gain] of [
    [0.5, -0.012718, -0.002299, -0.002289, -0.002289, -0.002289, 0.985626],
    [0.7, -0.05387, -0.001682, -2.6e-5, -2e-5, -2e-5, 0.999858],
    [1, -0.12232, -0.024809, -0.001799, -4.6e-5, 0, 0.993448],
    [1.5, -0.18399, -0.095443, -0.03276, -0.007097, -8e-5, 0.870643],
    [2, -0.210913, -0.147888, -0.084005, -0.037601, -0.003435, 0.664891],
  ]) {
    [three, five, seven, nine, thirteen].forEach((error, i) => {
      const width = [3, 5, 7, 9, 13][i];
      checkPublished(
        {
          what: `error 0.25 px off the middle of ${width} px, sigma ${sigma} px, px`,
          value: error,
          tolerance: error === 0 ? 1e-6 : 6e-7,
          source,
          note: 'half a unit of the sixth decimal',
        },
        () => errorAt(sigma, 0.25, width),
      );
      checkPublished(
        {
          what: `predicted bias 0.25 px off the middle of ${width} px, sigma ${sigma} px, px`,
          value: error,
          tolerance: error === 0 ? 1e-6 : 6e-7,
          source,
          note: 'half a unit of the sixth decimal',
        },
        () => {
          const x = (width - 1) / 2 + 0.25;
          const expected = renderStar(gaussian(sigma), { width, height: 41, x, y: 20.3, flux: 1e12 });
          const options = {
            estimator: 'centerOfMass',
            at: { x, y: 20.3 },
            noise: { readNoiseE: 0 },
          } as const;
          const predicted = predictError(expected, options);
          if (!predicted.ok) throw new Error(predicted.reason);
          return predicted.biasX;
        },
      );
    });
    checkPublished(
      {
        what: `change of the measured per change of the true place in the middle of 7 px, sigma ${sigma} px`,
        value: gain,
        tolerance: 6e-7,
        source,
        note: 'a difference over 0.02 px, as the number has it: over 0.002 px it is up to 1e-5 less',
      },
      () => 1 + (errorAt(sigma, 0.01, 7) - errorAt(sigma, -0.01, 7)) / 0.02,
    );
  }
});
