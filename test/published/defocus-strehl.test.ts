/**
 * Light on the axis of an image that is out of focus: S = (sin u / u)^2, u = pi W020 (1 - e^2) / lambda, W020
 * the defocus at the outer edge (Mahajan, Optical Imaging and Aberrations II, from memory; the formula
 * derived).
 */
import { strehlRatio } from '@holdfast/psf';
import { describe } from 'vitest';
import { checkPublished } from './published.ts';
import { starProfile } from './star-profile.ts';

const source = 'Mahajan, Optical Imaging and Aberrations II, from memory; evaluated to five digits';
const obstructions = [0, 0.2, 0.33, 0.5];
const table: [number, number[]][] = [
  [0.1, [0.96753, 0.97005, 0.97415, 0.98163]],
  [0.125, [0.94964, 0.95351, 0.95984, 0.97142]],
  [0.25, [0.81057, 0.8243, 0.84703, 0.88956]],
  [0.5, [0.40528, 0.43803, 0.49561, 0.61499]],
  [0.75, [0.09006, 0.11604, 0.16911, 0.30804]],
  [1, [0, 0.00173, 0.01436, 0.09006]],
  [1.5, [0.04503, 0.04715, 0.04304, 0.01172]],
];

const ratio = (obstructionRatio: number, waves: number): number =>
  strehlRatio({
    pupil: { obstructionRatio },
    wavefront: { seidelNm: { defocus: 500 * waves } },
    fNumber: 5,
    wavelengthNm: 500,
  });

describe('by integration over the pupil', () => {
  for (const [waves, values] of table)
    values.forEach((value, k) => {
      checkPublished(
        {
          what: `obstruction ${obstructions[k]}, defocus ${waves} waves`,
          value,
          tolerance: 6e-6,
          source,
          note: 'half a unit of the last digit',
        },
        () => ratio(obstructions[k], waves),
      );
    });
});

describe('in the image', () => {
  obstructions.forEach((obstructionRatio, column) => {
    const pupil = { obstructionRatio };
    const perfect = starProfile(pupil, 1).intensity[0];
    for (const [waves, values] of [table[2], table[3], table[5]])
      checkPublished(
        {
          what: `obstruction ${obstructionRatio}, defocus ${waves} waves`,
          value: values[column],
          tolerance: 6e-5,
          source,
          note: '128 pupil samples, pixels of 1/128 lambda F',
        },
        () => starProfile(pupil, 1, { seidelNm: { defocus: 500 * waves } }).intensity[0] / perfect,
      );
  });
});

describe('dark on the axis', () => {
  for (const obstructionRatio of [0, 0.35, 0.5])
    for (const n of [1, 2])
      checkPublished(
        {
          what: `obstruction ${obstructionRatio}, defocus of ${n} / (1 - e^2) waves`,
          value: 0,
          tolerance: 1e-12,
          source,
          note: 'the quadrature',
        },
        () => ratio(obstructionRatio, n / (1 - obstructionRatio ** 2)),
      );
});

describe('defocus that leaves 0.8, waves', () => {
  for (const [obstructionRatio, value] of [
    [0, 0.25752],
    [0.2, 0.26825],
    [0.3, 0.28299],
    [0.33, 0.28899],
    [0.4, 0.30657],
    [0.5, 0.34336],
  ])
    checkPublished(
      {
        what: `obstruction ${obstructionRatio}`,
        value,
        tolerance: 6e-6,
        source,
        note: 'half a unit of the last digit',
      },
      () => falls((waves) => ratio(obstructionRatio, waves), 0.8),
    );
});

/** Where a falling function of 0 to 1 reaches a value. */
function falls(f: (x: number) => number, value: number): number {
  let low = 0;
  let high = 1;
  for (let k = 0; k < 40; k++) {
    const middle = (low + high) / 2;
    if (f(middle) > value) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
