/**
 * Least position error of Moffat stars, in photon noise and against a strong background, and that of the
 * center of mass.
 */
import { positionBound, predictError } from '@holdfast/centroid';
import { moffatAlpha, renderStar } from '@holdfast/psf';
import { describe } from 'vitest';
import { expectedStar } from './expected-star.ts';
import { checkPublished } from './published.ts';

const closed = 'closed forms derived from the profile, confirmed numerically';
const vakili =
  'Vakili & Hogg 2016, arXiv:1610.05873: SNR = F sqrt(sum P^2) / sigma; bound = 0.685 FWHM / SNR at beta 2.5';

const fwhmPx = 12;
const side = 241;
const place = { x: 120.3, y: 119.8 };

function bounds(beta: number) {
  const shape = { kind: 'moffat', fwhmPx, beta } as const;
  // The star's own photons count for nothing beside a noise 1e7 times its flux.
  const star = expectedStar(shape, { side, ...place, flux: 1 });
  const photons = positionBound(star, { readNoiseE: 0 });
  const background = positionBound(star, { readNoiseE: 1e7 });
  return {
    photonsTimesRootN: photons.sigmaX / fwhmPx,
    backgroundTimesSnr: (background.sigmaX * background.snr) / fwhmPx,
    snrTimesNoise: background.snr * 1e7 * fwhmPx,
  };
}

// beta; then photon bound * sqrt(N) / FWHM and background bound * SNR / FWHM
for (const [beta, photons, background] of [
  [2.5, 0.604272, 0.68518],
  [3, 0.566224, 0.669966],
  [3.5, 0.541778, 0.659432],
  [4.765, 0.506494, 0.643149],
] as const)
  describe(`Moffat star, beta = ${beta}`, () => {
    const note =
      'pixels of 1/12 FWHM widen the star by some 1 / (24 * 50) of its variance; the sum ends at 10 FWHM';
    checkPublished(
      {
        what: 'photon-limited bound * sqrt(N) / FWHM',
        value: photons,
        tolerance: 1.5e-3,
        source: closed,
        note,
      },
      () => bounds(beta).photonsTimesRootN,
    );
    checkPublished(
      {
        what: 'background-limited bound * SNR / FWHM',
        value: background,
        tolerance: 2e-3,
        source: closed,
        note,
      },
      () => bounds(beta).backgroundTimesSnr,
    );
  });

describe('signal-to-noise ratio of a fit of the true profile', () => {
  for (const [name, snr, measure] of [
    ['Moffat star, beta = 2.5', 0.478363, () => bounds(2.5).snrTimesNoise],
    [
      'Gaussian star',
      0.664283,
      () => {
        const star = renderStar(
          { kind: 'gaussian', fwhmPx },
          { width: side, height: side, ...place, flux: 1 },
        );
        return positionBound(star, { readNoiseE: 1e7 }).snr * 1e7 * fwhmPx;
      },
    ],
  ] as const)
    checkPublished(
      {
        what: `SNR * noise * FWHM / flux, ${name}`,
        value: snr,
        tolerance: 3e-3 * snr,
        source: vakili,
        note: 'pixels of 1/12 FWHM',
      },
      measure,
    );
});

describe('center of mass of a Moffat star in photon noise', () => {
  // alpha / sqrt(2 (beta - 2)) over the whole plane; a field of R holds all of the second moment but (R /
  // alpha)^(4 - 2 beta)
  checkPublished(
    {
      what: 'center-of-mass error * sqrt(N) / FWHM, beta = 4.765',
      value: 0.53733,
      tolerance: 1.5e-3,
      source: closed,
      note: 'pixels of 1/12 FWHM add 0.1 %; the field ends at 8 alpha, which leaves out 1e-5',
    },
    () => {
      const flux = 1e6;
      const expected = renderStar(
        { kind: 'moffat', fwhmPx, beta: 4.765 },
        { width: side, height: side, ...place, flux },
      );
      const predicted = predictError(expected, {
        estimator: 'centerOfMass',
        at: place,
        noise: { readNoiseE: 0 },
      });
      if (!predicted.ok) throw new Error(predicted.reason);
      const alpha = moffatAlpha({ fwhmPx, beta: 4.765 });
      if (side / 2 < 7.5 * alpha) throw new Error('field too small');
      return (predicted.sigmaX * Math.sqrt(flux)) / fwhmPx;
    },
  );
});
