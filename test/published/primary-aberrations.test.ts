/**
 * Root mean square of the primary aberrations over an annular pupil (Mahajan, Optical Imaging and Aberrations
 * II, from memory; each formula confirmed to 1e-12 by quadrature elsewhere), for a coefficient of 1 at the
 * outer edge.
 */
import { type SeidelTerms, strehlRatio, wavefrontRmsNm } from '@holdfast/psf';
import { describe } from 'vitest';
import { checkPublished } from './published.ts';

const source = 'Mahajan, Optical Imaging and Aberrations II, from memory';

const rms = (obstructionRatio: number, seidelNm: SeidelTerms): number =>
  wavefrontRmsNm({ pupil: { obstructionRatio }, wavefront: { seidelNm }, fNumber: 5 });

/**
 * Tilt that leaves the least rms to coma of 1 over an annulus, and defocus that leaves it to spherical
 * aberration of 1.
 */
const comaTilt = (e: number): number => (-2 / 3) * ((1 + e ** 2 + e ** 4) / (1 + e ** 2));
const sphericalDefocus = (e: number): number => -(1 + e ** 2);

const root = Math.sqrt;
const rows: [string, (e: number) => SeidelTerms, (e: number) => number, number[]][] = [
  ['tilt', () => ({ tilt: 1 }), (e) => root(1 + e ** 2) / 2, [0.5, 0.522015, 0.559017]],
  ['defocus', () => ({ defocus: 1 }), (e) => (1 - e ** 2) / (2 * root(3)), [0.288675, 0.262694, 0.216506]],
  [
    'coma',
    () => ({ coma: 1, angleDeg: 33 }),
    (e) => root(1 + e ** 2 + e ** 4 + e ** 6) / root(8),
    [0.353553, 0.370612, 0.40745],
  ],
  [
    'balanced coma',
    (e) => ({ coma: 1, tilt: comaTilt(e), angleDeg: -70 }),
    (e) => ((1 - e ** 2) * root(1 + 4 * e ** 2 + e ** 4)) / (6 * root(2) * root(1 + e ** 2)),
    [0.117851, 0.120149, 0.113537],
  ],
  [
    'astigmatism',
    () => ({ astigmatism: 1, angleDeg: 20 }),
    (e) => root(1 + e ** 4) / 4,
    [0.25, 0.25101, 0.257694],
  ],
  [
    'balanced astigmatism',
    () => ({ astigmatism: 1, defocus: -0.5 }),
    (e) => root(1 + e ** 2 + e ** 4) / (2 * root(6)),
    [0.204124, 0.213902, 0.233854],
  ],
  [
    'spherical aberration',
    () => ({ spherical: 1 }),
    (e) => root(4 - e ** 2 - 6 * e ** 4 - e ** 6 + 4 * e ** 8) / (3 * root(5)),
    [0.298142, 0.292914, 0.273861],
  ],
  [
    'balanced spherical aberration',
    (e) => ({ spherical: 1, defocus: sphericalDefocus(e) }),
    (e) => (1 - e ** 2) ** 2 / (6 * root(5)),
    [0.0745356, 0.0617229, 0.0419263],
  ],
];

for (const [name, terms, formula, values] of rows)
  describe(name, () => {
    [0, 0.3, 0.5].forEach((e, k) => {
      checkPublished(
        {
          what: `rms, obstruction ${e}`,
          value: values[k],
          tolerance: 6e-7,
          source,
          note: 'half a unit of the last digit',
        },
        () => rms(e, terms(e)),
      );
    });
    checkPublished(
      {
        what: 'rms, obstruction 0.42',
        value: formula(0.42),
        tolerance: 1e-12,
        source,
        note: 'the quadrature',
      },
      () => rms(0.42, terms(0.42)),
    );
  });

describe('coefficient that leaves a Strehl ratio of 0.8 on a clear pupil, waves', () => {
  // Born & Wolf 9.3 print 0.94, 0.60, 0.35 and 0.25, from rms = lambda / 14 and an approximation for the
  // ratio.
  for (const [name, terms, value] of [
    ['balanced spherical aberration', { spherical: 1, defocus: -1 }, 1.0008],
    ['balanced coma', { coma: 1, tilt: -2 / 3 }, 0.635],
    ['balanced astigmatism', { astigmatism: 1, defocus: -0.5 }, 0.3673],
    ['defocus', { defocus: 1 }, 0.2575],
  ] as const)
    checkPublished(
      {
        what: name,
        value,
        tolerance: 6e-5,
        source: 'quadrature by an independent program (derived, not printed)',
        note: 'half a unit of the last digit',
      },
      () => {
        let low = 0;
        let high = 1.5;
        for (let k = 0; k < 30; k++) {
          const waves = (low + high) / 2;
          const seidelNm = Object.fromEntries(
            Object.entries(terms).map(([term, part]) => [term, 500 * waves * part]),
          );
          const ratio = strehlRatio({
            pupil: { obstructionRatio: 0 },
            wavefront: { seidelNm },
            fNumber: 5,
            wavelengthNm: 500,
          });
          if (ratio > 0.8) low = waves;
          else high = waves;
        }
        return low;
      },
    );
});
