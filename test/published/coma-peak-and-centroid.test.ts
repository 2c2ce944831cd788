/**
 * Where the brightest point and the center of mass of a comatic star lie, W = A rho^3 cos(theta): the center
 * of mass at 2 F A (1 + e^2), the peak of a small aberration at (4 F A / 3) (1 + e^2 + e^4) / (1 + e^2)
 * (Mahajan 1985, JOSA A 2, 833, and Optical Imaging and Aberrations II, from memory; his printed table for a
 * clear pupil has 0.66 / 1.00, 1.30 / 2.00, 1.79 / 3.00, 1.57 / 4.00 for A = 0.5, 1, 1.5, 2 waves).
 */
import { lightCentroid } from '@holdfast/psf';
import { describe } from 'vitest';
import { checkPublished } from './published.ts';
import { extrema, starProfile } from './star-profile.ts';

const source = 'Mahajan 1985, JOSA A 2, 833, from memory; evaluated afresh to four digits';

/**
 * Obstruction, A in waves; center of mass, peak (lambda F); light at the peak and at the reference point over
 * that of a perfect wave.
 */
const table = [
  [0, 0.1, 0.2, 0.1333, 0.9945, 0.9519],
  [0, 0.25, 0.5, 0.3329, 0.9663, 0.7374],
  [0, 0.5, 1, 0.6634, 0.8713, 0.3175],
  [0, 0.75, 1.5, 0.9881, 0.7319, 0.1185],
  [0, 1, 2, 1.3009, 0.5717, 0.0791],
  [0, 1.5, 3, 1.7963, 0.2844, 0.0618],
  [0, 2, 4, 1.5675, 0.1978, 0.0341],
  [0.3, 0.25, 0.545, 0.3355, 0.965, 0.7137],
  [0.3, 0.5, 1.09, 0.6688, 0.8664, 0.2707],
  [0.3, 1, 2.18, 1.3152, 0.5577, 0.0442],
  [0.5, 0.25, 0.625, 0.3498, 0.9687, 0.6601],
  [0.5, 0.5, 1.25, 0.6985, 0.88, 0.1773],
  [0.5, 1, 2.5, 1.3854, 0.5954, 0.0029],
] as const;

const perfect = new Map([0, 0.3, 0.5].map((e) => [e, starProfile({ obstructionRatio: e }, 1).intensity[0]]));

for (const [e, waves, centroid, peak, strehl, reference] of table)
  describe(`obstruction ${e}, coma ${waves} waves`, () => {
    const pupil = { obstructionRatio: e };
    const wavefront = { seidelNm: { coma: 500 * waves } };
    const profile = starProfile(pupil, 4, wavefront);
    const brightest = extrema(profile, -1).reduce((best, top) => (top.value > best.value ? top : best));
    checkPublished(
      {
        what: 'center of mass, lambda F',
        value: centroid,
        tolerance: 1e-12,
        source,
        note: 'quadrature is exact',
      },
      () => lightCentroid({ pupil, wavefront, fNumber: 2 }).xUm,
    );
    checkPublished(
      {
        what: 'brightest point, lambda F',
        value: peak,
        tolerance: 3e-4,
        source,
        note: 'a flat top, known to four digits, on pixels of 1/128 lambda F',
      },
      () => brightest.radius,
    );
    checkPublished(
      {
        what: 'light at the brightest point',
        value: strehl,
        tolerance: 1e-4,
        source,
        note: 'four digits, 128 pupil samples',
      },
      () => brightest.value / perfect.get(e)!,
    );
    checkPublished(
      {
        what: 'light at the reference point',
        value: reference,
        tolerance: 1e-4,
        source,
        note: 'four digits, 128 pupil samples',
      },
      () => profile.intensity[0] / perfect.get(e)!,
    );
    if (waves <= 0.25)
      checkPublished(
        {
          what: 'small aberration: peak over center of mass',
          value: ((2 / 3) * (1 + e ** 2 + e ** 4)) / (1 + e ** 2) ** 2,
          tolerance: 2e-3,
          source,
          note: 'holds in the limit of no aberration; at a quarter wave 0.1 % is left',
        },
        () => brightest.radius / centroid,
      );
  });
