/**
 * The image of an annular aperture: I = [2 J1(v) / v - e^2 2 J1(e v) / (e v)]^2 / (1 - e^2)^2 (Schroeder,
 * Astronomical Optics, 2nd ed., p. 248; Mahajan, Optical Imaging and Aberrations II; both print two or three
 * digits, here evaluated afresh).
 */
import { describe } from 'vitest';
import { checkPublished } from './published.ts';
import { encircledEnergy, extrema, radiusAt, starProfile } from './star-profile.ts';

const source = 'Schroeder p. 248, evaluated to four digits';

/** Obstruction; dark rings; light within them; bright rings [height, radius]; FWHM. Lengths in lambda F. */
const table = [
  [
    0.1,
    [1.2051, 2.2689, 3.1824],
    [0.8184, 0.9058, 0.9248],
    [
      [0.02056, 1.634],
      [0.00313, 2.68],
    ],
    1.0233,
  ],
  [
    0.2,
    [1.1665, 2.3572, 3.0885],
    [0.7638, 0.9003, 0.9075],
    [
      [0.03035, 1.63],
      [0.0015, 2.693],
    ],
    1.0068,
  ],
  [
    0.3,
    [1.1145, 2.4241, 3.0956],
    [0.6824, 0.8994, 0.9041],
    [
      [0.04751, 1.615],
      [0.0011, 2.728],
    ],
    0.9811,
  ],
  [
    0.33,
    [1.0977, 2.4243, 3.1372],
    [0.6543, 0.898, 0.904],
    [
      [0.05397, 1.607],
      [0.00137, 2.742],
    ],
    0.972,
  ],
  [
    0.4,
    [1.0577, 2.3877, 3.3007],
    [0.5843, 0.8852, 0.9027],
    [
      [0.07071, 1.583],
      [0.00335, 2.768],
    ],
    0.9486,
  ],
  [
    0.5,
    [1.0009, 2.2865, 3.4902],
    [0.4786, 0.8286, 0.9015],
    [
      [0.09634, 1.535],
      [0.01242, 2.761],
    ],
    0.9117,
  ],
  [
    0.7,
    [0.8958, 2.0557, 3.2206],
    [0.2687, 0.56, 0.7615],
    [
      [0.1395, 1.412],
      [0.05331, 2.583],
    ],
    0.8321,
  ],
  [
    0.8,
    [0.8488, 1.9482, 3.0539],
    [0.1716, 0.3756, 0.5539],
    [
      [0.15274, 1.347],
      [0.0734, 2.465],
    ],
    0.7924,
  ],
  [
    0.9,
    [0.8054, 1.8487, 2.8982],
    [0.0819, 0.1839, 0.2838],
    [
      [0.16003, 1.282],
      [0.08606, 2.347],
    ],
    0.7539,
  ],
] as const;

for (const [obstructionRatio, darkRadii, energies, brightRings, fwhm] of table)
  describe(`obstruction ${obstructionRatio}`, () => {
    const profile = starProfile({ obstructionRatio }, 4);
    const dark = extrema(profile, 1);
    const bright = extrema(profile, -1);
    darkRadii.forEach((radius, k) => {
      checkPublished(
        {
          what: `radius of dark ring ${k + 1}, lambda F`,
          value: radius,
          tolerance: 2e-4,
          source,
          note: 'half a unit of the last digit, and pixels of 1/128 lambda F',
        },
        () => dark[k].radius,
      );
      checkPublished(
        {
          what: `light within dark ring ${k + 1}`,
          value: energies[k],
          tolerance: 1.5e-4,
          source,
          note: 'half a unit of the last digit, and 128 pupil samples',
        },
        () => encircledEnergy(profile, radius),
      );
    });
    brightRings.forEach(([height, radius], k) => {
      checkPublished(
        {
          what: `radius of bright ring ${k + 1}, lambda F`,
          value: radius,
          tolerance: 1e-3,
          source,
          note: 'half a unit of the last digit, and a flat top',
        },
        () => bright[k].radius,
      );
      checkPublished(
        {
          what: `brightness of ring ${k + 1} over that of the middle`,
          value: height,
          tolerance: 3e-5,
          source,
          note: 'half a unit of the last digit, and 128 pupil samples',
        },
        () => bright[k].value / profile.intensity[0],
      );
    });
    checkPublished(
      { what: 'FWHM, lambda F', value: fwhm, tolerance: 2e-4, source, note: 'pixels of 1/128 lambda F' },
      () => 2 * radiusAt(profile, profile.intensity[0] / 2),
    );
    checkPublished(
      {
        what: 'light at the middle over that of a clear aperture which passes the same light',
        value: 1 - obstructionRatio ** 2,
        tolerance: 1e-4,
        source: 'Mahajan, Optical Imaging and Aberrations II: area over (lambda f)^2 (derived)',
        note: '128 pupil samples',
      },
      () => profile.intensity[0] / (Math.PI / 4),
    );
  });
