/**
 * The image of a clear circular aperture: Born & Wolf, Principles of Optics, 8.5.2 (the page from memory).
 */
import { expect, test } from 'vitest';
import { checkPublished } from './published.ts';
import { encircledEnergy, extrema, radiusAt, radiusHolding, starProfile } from './star-profile.ts';

const profile = starProfile({ obstructionRatio: 0 }, 5);
const dark = extrema(profile, 1);
const bright = extrema(profile, -1);
const source = 'Born & Wolf 8.5.2, I = [2 J1(v) / v]^2, EE = 1 - J0^2 - J1^2, evaluated to all digits';

const darkRings = [
  [1.21967, 0.837785],
  [2.233131, 0.909931],
  [3.238315, 0.937647],
  [4.241063, 0.952319],
];
darkRings.forEach(([radius, energy], k) => {
  checkPublished(
    {
      what: `radius of dark ring ${k + 1}, lambda F`,
      value: radius,
      tolerance: 1.5e-4,
      source,
      note: 'pixels of 1/128 lambda F and a parabola through three of them; the print has 1.22, 2.23, 3.24',
    },
    () => dark[k].radius,
  );
  checkPublished(
    {
      what: `light within dark ring ${k + 1}`,
      value: energy,
      tolerance: 3e-5,
      source,
      note: '128 pupil samples; the print has 0.838, 0.910, 0.938',
    },
    () => encircledEnergy(profile, radius),
  );
});

const brightRings = [
  [1.634719, 0.0174979],
  [2.679292, 0.004158],
  [3.69871, 0.0016006],
];
brightRings.forEach(([radius, height], k) => {
  checkPublished(
    {
      what: `radius of bright ring ${k + 1}, lambda F`,
      value: radius,
      tolerance: 3e-4,
      source,
      note: 'a flat top',
    },
    () => bright[k].radius,
  );
  checkPublished(
    {
      what: `brightness of ring ${k + 1} over that of the middle`,
      value: height,
      tolerance: 2e-5,
      source,
      note: '128 pupil samples: 1e-5 of the peak',
    },
    () => bright[k].value / profile.intensity[0],
  );
});

checkPublished(
  { what: 'FWHM, lambda F', value: 1.028994, tolerance: 2e-4, source, note: 'pixels of 1/128 lambda F' },
  () => 2 * radiusAt(profile, profile.intensity[0] / 2),
);
for (const [share, radius, tolerance] of [
  [0.5, 0.534832, 2e-4],
  [0.8, 0.896942, 3e-4],
  [0.9, 1.900688, 1e-3],
  [0.95, 3.91587, 3e-3],
])
  checkPublished(
    {
      what: `radius that holds ${100 * share} % of the light, lambda F`,
      value: radius,
      tolerance,
      source,
      note: '2e-5 of the light over its slope with radius, which is small beyond the first ring',
    },
    () => radiusHolding(profile, share),
  );

test('dark rings are dark', () => {
  for (const { value } of dark.slice(0, 4)) expect(value / profile.intensity[0]).toBeLessThan(1e-5);
});

checkPublished(
  {
    what: 'light at the middle, per (lambda F)^2',
    value: Math.PI / 4,
    tolerance: 2e-5,
    source: 'Born & Wolf 8.5.2: I0 = flux * area / (lambda f)^2',
    note: 'the pixel of 1/128 lambda F averages off pi^2 / 24 / 128^2 = 2.5e-5 of it',
  },
  () => profile.intensity[0],
);
