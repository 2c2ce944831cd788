/**
 * Rings in noise: the center of mass, the least possible error in photon noise and against a strong
 * background, and both mixed. Numbers are for infinitely fine pixels; drawn on pixels of 1 px they hold when
 * the pixel's variance of 1/12 px^2 is taken from the blur.
 */
import { positionBound, predictError } from '@holdfast/centroid';
import { describe, expect, test } from 'vitest';
import { expectedStar, sigmaPerFwhm } from './expected-star.ts';
import { checkPublished } from './published.ts';

const source = 'derived, confirmed numerically';

function ringStar(R: number, epsilon: number, s: number, flux: number) {
  const side = 2 * Math.ceil(R + 7 * s) + 1;
  const x = (side - 1) / 2 + 0.2;
  const y = (side - 1) / 2 - 0.3;
  const shape = {
    kind: 'annulus',
    outerDiameterPx: 2 * R,
    obstructionRatio: epsilon,
    blurFwhmPx: Math.sqrt(s * s - 1 / 12) / sigmaPerFwhm,
  } as const;
  return { star: expectedStar(shape, { side, x, y, flux }), x, y, side };
}

// R, obstruction ratio and s, px; then center of mass * sqrt(N), bound * sqrt(N), background-limited bound *
// N / sigma_n, noise-equivalent area, and the bound at N = 1e4 on a background of 100 per pixel, px
for (const [R, epsilon, s, center, photons, background, area, mixed] of [
  [5, 0, 1.5, 2.91548, 2.70857, 47.44, 117.33, 0.058369],
  [5, 0.3, 1.5, 3.0104, 2.64389, 46.141, 124.49, 0.056706],
  [10, 0, 1.5, 5.22015, 3.91687, 130.369, 377.73, 0.139591],
  [10, 0.3, 1.5, 5.43139, 3.53052, 107.04, 374.53, 0.115768],
  [10, 0.5, 1.5, 5.78792, 2.97063, 83.063, 352.83, 0.090808],
  [20, 0.5, 1.5, 11.28051, 4.09324, 224.826, 1133.85, 0.23065],
  [20, 0.3, 1, 10.48809, 3.95014, 238.986, 1243.56, 0.244109],
  [40, 0.35, 1.5, 21.24265, 6.58135, 782.082, 4717.6, 0.786492],
] as const)
  describe(`ring of R = ${R} px, obstruction ${epsilon}, blur ${s} px rms`, () => {
    const flux = 1e4;
    const { star, x, y, side } = ringStar(R, epsilon, s, flux);
    const note = 'a square pixel is not quite a Gaussian of the same variance: it shows as s^-4';
    const share = 3e-4 / s ** 4 + 6e-5;
    // The formulas are of first order in the noise, the prediction of second: noise over light is made a
    // thousandth.
    const lessNoise = 1000;
    const bright = ringStar(R, epsilon, s, lessNoise ** 2 * flux).star.image;
    const predictedX = (readNoiseE: number): number => {
      const noise = { readNoiseE: lessNoise * readNoiseE };
      const predicted = predictError(bright, { estimator: 'centerOfMass', at: { x, y }, noise });
      if (!predicted.ok) throw new Error(predicted.reason);
      return lessNoise * predicted.sigmaX;
    };
    checkPublished(
      {
        what: 'center-of-mass error * sqrt(N), px',
        value: center,
        tolerance: 2e-6 * center,
        source: `${source}: sqrt(s^2 + R^2 (1 + eps^2) / 4)`,
        note: 'printed to seven digits',
      },
      () => predictedX(0) * Math.sqrt(flux),
    );
    checkPublished(
      {
        what: 'photon-limited bound * sqrt(N), px',
        value: photons,
        tolerance: share * photons,
        source,
        note,
      },
      () => positionBound(star, { readNoiseE: 0 }).sigmaX * Math.sqrt(flux),
    );
    checkPublished(
      {
        what: 'background-limited bound * N / noise, px',
        value: background,
        tolerance: share * background,
        source,
        note,
      },
      () => (positionBound(star, { readNoiseE: 1e6 }).sigmaX * flux) / 1e6,
    );
    checkPublished(
      { what: 'noise-equivalent area, px^2', value: area, tolerance: share * area, source, note },
      () => (flux / (1e6 * positionBound(star, { readNoiseE: 1e6 }).snr)) ** 2,
    );
    checkPublished(
      {
        what: 'bound at 1e4 electrons on a background of 100 per pixel, px',
        value: mixed,
        tolerance: share * mixed,
        source,
        note,
      },
      () => positionBound(star, { readNoiseE: 0, backgroundE: 100 }).sigmaX,
    );
    checkPublished(
      {
        what: 'read-noise part of the center-of-mass error over a square window, px',
        value: (5 * Math.sqrt((side ** 2 * (side ** 2 - 1)) / 12)) / flux,
        tolerance: 2e-3 * ((5 * side ** 2) / Math.sqrt(12) / flux),
        source: `${source}: sigma_n sqrt(w^2 (w^2 - 1) / 12) / N, whatever the star; the star stands 0.36 px off the middle`,
        note: 'the offset adds its square to the mean square lever: 12 * 0.2^2 / w^2',
      },
      () => Math.sqrt(predictedX(5) ** 2 - predictedX(0) ** 2),
    );
  });

describe('what the rows say', () => {
  const bound = (R: number, epsilon: number) =>
    positionBound(ringStar(R, epsilon, 1.5, 1e4).star, { readNoiseE: 0 }).sigmaX;
  const center = (R: number, epsilon: number) => {
    const { star, x, y } = ringStar(R, epsilon, 1.5, 1e4);
    const predicted = predictError(star.image, {
      estimator: 'centerOfMass',
      at: { x, y },
      noise: { readNoiseE: 0 },
    });
    if (!predicted.ok) throw new Error(predicted.reason);
    return predicted.sigmaX;
  };
  checkPublished(
    {
      what: 'variance of the center of mass over the least, R = 10, eps = 0.3',
      value: 2.4,
      tolerance: 0.05,
      source,
      note: 'two digits',
    },
    () => (center(10, 0.3) / bound(10, 0.3)) ** 2,
  );
  checkPublished(
    {
      what: 'variance of the center of mass over the least, R = 20, eps = 0.5',
      value: 7.6,
      tolerance: 0.05,
      source,
      note: 'two digits',
    },
    () => (center(20, 0.5) / bound(20, 0.5)) ** 2,
  );
  test('a larger obstruction makes the center of mass worse and the bound better', () => {
    expect(center(10, 0.5)).toBeGreaterThan(1.05 * center(10, 0));
    expect(bound(10, 0.5)).toBeLessThan(0.8 * bound(10, 0));
  });
});
