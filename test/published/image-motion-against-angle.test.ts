/**
 * How alike two stars move: against their angle and the aperture.
 *
 * For Kolmogorov's air of one height the covariance of the centers of mass seen through two places b
 * apertures apart is, over the variance of one of them, along the line between them and across it:
 *
 *   along  0.570 b^(-1/3) + 0.040 b^(-7/3)      across  0.855 b^(-1/3) - 0.030 b^(-7/3)
 *
 * (Tokovinin 2002, PASP 114, 1156, equation for the mean slope, from memory; the fall with b^(-1/3) is that
 * of Sarazin & Roddier 1990, A&A 227, 294). Two stars at an angle see the layer at height h at places angle x
 * h apart.
 */
import { sharedAir } from '@holdfast/sim/internal';
import { describe } from 'vitest';
import { checkPublished } from './published.ts';

const apertureMm = 200;

/**
 * Corrections that take all of each offset, after exposures that are all but instantaneous: the loop chases
 * the motion itself.
 */
const instantaneous = {
  seeingFwhmArcsec: 2.5,
  wavelengthNm: 550,
  apertureMm,
  obstructionRatio: 0,
  windMPerS: 10,
  exposureS: 1e-5,
  intervalS: 1e-5,
  proportionalGain: 1,
};

describe('correlation of the motion of two stars, mean of both axes', () => {
  for (const b of [2, 5, 10, 30]) {
    const along = 0.57 * b ** (-1 / 3) + 0.04 * b ** (-7 / 3);
    const across = 0.855 * b ** (-1 / 3) - 0.03 * b ** (-7 / 3);
    checkPublished(
      {
        what: `beams ${b} apertures apart`,
        value: (along + across) / 2,
        tolerance: 0.01,
        source: 'Tokovinin 2002, PASP 114, 1156, from memory',
        note: 'three digits of the coefficients, good to some 1 % of the variance; the integral ends at a finite frequency',
      },
      () => sharedAir(instantaneous, (b * apertureMm) / 1000),
    );
  }
});
