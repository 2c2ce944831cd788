/**
 * A pupil whose light is not centered makes the star walk through focus: by the centroid theorem (Teague
 * 1982, JOSA 72, 1199) x = 4 F W020 <xi>, and for a focus shift dz, W020 = -dz / (8 F^2) as a retardation, x
 * = -(dz / 2 F) <xi>.
 */
import { lightCentroid, type Pupil, pupilMoments } from '@holdfast/psf';
import { describe } from 'vitest';
import { checkPublished } from './published.ts';
import { windowCentroids } from './window-centroid.ts';

const closedForm = 'closed form (derived, confirmed numerically)';
const exact = 'the quadrature is good to 1e-13; rounding of the printed value';

describe('center of mass of the light in the pupil', () => {
  const cases: [string, Pupil, number, number][] = [
    [
      'obstruction 0.35 off center by 0.05',
      { obstructionRatio: 0.35, obstructionCenter: { x: 0.05, y: 0 } },
      (-(0.35 ** 2) * 0.05) / (1 - 0.35 ** 2),
      1e-13,
    ],
    [
      'obstruction 0.35 off center by 0.2',
      { obstructionRatio: 0.35, obstructionCenter: { x: 0.2, y: 0 } },
      (-(0.35 ** 2) * 0.2) / (1 - 0.35 ** 2),
      1e-13,
    ],
    [
      'illumination 1 + 0.4 x, obstruction 0.3',
      { obstructionRatio: 0.3, illumination: { gradient: 0.4 } },
      (0.4 * 1.09) / 4,
      1e-13,
    ],
    ['half of a disc', { obstructionRatio: 0, clip: { distance: 0, angleDeg: 180 } }, 0.424413, 5e-7],
    [
      'half of an annulus, 0.3',
      { obstructionRatio: 0.3, clip: { distance: 0, angleDeg: 180 } },
      0.453796,
      5e-7,
    ],
    [
      'half of an annulus, 0.5',
      { obstructionRatio: 0.5, clip: { distance: 0, angleDeg: 180 } },
      0.495149,
      5e-7,
    ],
    ['edge at 0.9', { obstructionRatio: 0, clip: { distance: 0.9 } }, -0.0179095, 5e-8],
    ['edge at 0.7', { obstructionRatio: 0, clip: { distance: 0.7 } }, -0.0853129, 5e-8],
    ['edge at 0.5', { obstructionRatio: 0, clip: { distance: 0.5 } }, -0.1713268, 5e-8],
    ['edge at 0', { obstructionRatio: 0, clip: { distance: 0 } }, -0.4244132, 5e-8],
  ];
  for (const [what, pupil, value, tolerance] of cases)
    checkPublished(
      { what: `x, ${what}`, value, tolerance, source: closedForm, note: exact },
      () => pupilMoments(pupil).x,
    );
});

describe('light that an edge leaves', () => {
  for (const [distance, percent] of [
    [0.9, 98.131],
    [0.7, 90.594],
    [0.5, 80.45],
    [0, 50],
  ])
    checkPublished(
      { what: `edge at ${distance}, %`, value: percent, tolerance: 5e-4, source: closedForm, note: exact },
      () => 100 * pupilMoments({ obstructionRatio: 0, clip: { distance } }).transmitted,
    );
});

describe('walk of the star at F/5, 500 um beyond focus', () => {
  const cases: [string, Pupil, number][] = [
    [
      'obstruction 0.35 off center by 0.05',
      { obstructionRatio: 0.35, obstructionCenter: { x: 0.05, y: 0 } },
      0.349,
    ],
    [
      'obstruction 0.35 off center by 0.2',
      { obstructionRatio: 0.35, obstructionCenter: { x: 0.2, y: 0 } },
      1.396,
    ],
    ['edge at 0.9', { obstructionRatio: 0, clip: { distance: 0.9 } }, 0.8955],
    ['edge at 0.5', { obstructionRatio: 0, clip: { distance: 0.5 } }, 8.566],
  ];
  for (const [what, pupil, value] of cases) {
    const walk = (focusShiftUm: number): number =>
      lightCentroid({ pupil, wavefront: { focusShiftUm }, fNumber: 5 }).xUm;
    const published = { value, tolerance: 5e-4, source: `(dz / 2 F) <xi>, ${closedForm}` };
    const note =
      'printed to 0.5 nm; the light that is left crosses the axis beyond focus, so the sign is opposite to <xi>';
    checkPublished({ what: `${what}, um`, ...published, note }, () => walk(500));
    checkPublished({ what: `${what}, before focus, um`, ...published, value: -value, note }, () =>
      walk(-500),
    );
  }
});

describe('walk in the image itself, obstruction 0.35 off center by 0.2, within windows', () => {
  // The windows reach 4, 20 and 92 lambda F beyond the ring, whose radius is 4 W020 in lambda F.
  for (const [defocus, halfSides, values, whole] of [
    [2, [12, 28, 100], [-0.2493, -0.2326, -0.2266], -0.2234],
    [4.5455, [22, 38, 110], [-0.5411, -0.5239, -0.5149], -0.5076],
  ] as const) {
    const pupil = { obstructionRatio: 0.35, obstructionCenter: { x: 0.2, y: 0 } };
    const wavefront = { seidelNm: { defocus: 500 * defocus } };
    const ours = windowCentroids({ pupil, wavefront, halfSides, pixel: 1 / 4 });
    values.forEach((value, k) => {
      checkPublished(
        {
          what: `defocus ${defocus} waves, within ${halfSides[k]} lambda F, lambda F`,
          value,
          tolerance: 0.005 * Math.abs(value),
          source: 'FFT of a sampled pupil by an independent program (derived, not printed)',
          note: 'there the light beyond the field was folded back, which pulls the widest window by 0.4 %',
        },
        () => ours[k],
      );
    });
    checkPublished(
      {
        what: `defocus ${defocus} waves, all light, lambda F`,
        value: whole,
        tolerance: 1e-4,
        source: `4 F W020 <xi>, ${closedForm}`,
        note: 'printed to four digits',
      },
      () => lightCentroid({ pupil, wavefront, fNumber: 2 }).xUm,
    );
  }
});
