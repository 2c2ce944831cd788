/** Stars against a strong background: one area says how well flux and position can be known. */
import { positionBound } from '@holdfast/centroid';
import { describe } from 'vitest';
import { expectedStar, gaussian, sigmaPerFwhm } from './expected-star.ts';
import { checkPublished } from './published.ts';

const king = 'King 1983, PASP 95, 163 (from memory); derived, confirmed numerically';

// The star is drawn `scale` times as large, so that pixels are fine; a noise of sigma_n per unit area is
// sigma_n / scale per fine pixel. Flux and noise are raised together until the photon noise of the star is
// nothing beside the rest.
const scale = 8;
const raise = 1e6;

function backgroundLimited(sigma: number, flux: number, sigmaN: number) {
  const side = 2 * Math.ceil(7 * scale * sigma) + 1;
  const middle = (side - 1) / 2 + 0.3;
  const star = expectedStar(gaussian(scale * sigma), { side, x: middle, y: middle, flux: raise * flux });
  const bound = positionBound(star, { readNoiseE: (raise * sigmaN) / scale });
  return { sigmaX: bound.sigmaX / scale, snr: bound.snr };
}

const finePixel = 'the rest of a pixel of 1/8 px: 1 / (384 sigma^2) in the variance counts twice at most';

describe('background-limited Gaussian star', () => {
  for (const [sigma, flux, sigmaN, error, snr] of [
    [1.5, 1000, 10, 0.112798, 18.8063],
    [2, 1000, 10, 0.20053, 14.1047],
    [2, 5000, 10, 0.0401061, 70.5237],
  ]) {
    const what = `sigma ${sigma} px, flux ${flux}, noise ${sigmaN} a pixel`;
    checkPublished(
      {
        what: `position error, ${what}, px`,
        value: error,
        tolerance: 2e-3 * error,
        source: king,
        note: finePixel,
      },
      () => backgroundLimited(sigma, flux, sigmaN).sigmaX,
    );
    checkPublished(
      { what: `snr, ${what}`, value: snr, tolerance: 1e-3 * snr, source: king, note: finePixel },
      () => backgroundLimited(sigma, flux, sigmaN).snr,
    );
  }

  const sigma = 3;
  const fwhm = sigma / sigmaPerFwhm;
  checkPublished(
    {
      what: 'noise-equivalent area / FWHM^2',
      value: 2.26618,
      tolerance: 1e-3,
      source: king,
      note: finePixel,
    },
    () => (1000 / (10 * backgroundLimited(sigma, 1000, 10).snr)) ** 2 / fwhm ** 2,
  );
  checkPublished(
    { what: 'position error * snr / FWHM', value: 0.600561, tolerance: 3e-4, source: king, note: finePixel },
    () => {
      const { sigmaX, snr } = backgroundLimited(sigma, 1000, 10);
      return (sigmaX * snr) / fwhm;
    },
  );
});
