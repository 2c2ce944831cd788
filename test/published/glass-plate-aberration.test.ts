/**
 * Spherical aberration of a plane plate in a converging beam. The formulas are textbook third-order optics
 * (from memory); the exact values were computed with numpy from the path difference of a ray with tan u = 1 /
 * (2F).
 */
import { glassPlateAberration } from '@holdfast/psf';
import { checkPublished } from './published.ts';

const rows = [
  // t mm, n, F, paraxial shift mm, exact longitudinal spherical um, W040 nm, exact path difference nm
  [2, 1.5168, 4, 0.681435, 5.7855, 22.749, 22.301],
  [2, 1.5168, 5, 0.681435, 3.7115, 9.318, 9.2],
  [2, 1.5168, 10, 0.681435, 0.9308, 0.5824, 0.5805],
  [3, 1.5168, 5, 1.022152, 5.5673, 13.977, 13.8],
  [5, 1.5168, 4, 1.703586, 14.464, 56.873, 55.752],
  [2, 1.4585, 5, 0.628728, 3.6188, 9.083, 8.969],
] as const;

for (const [thicknessMm, refractiveIndex, fNumber, shiftMm, sphericalUm, w040Nm, exactNm] of rows) {
  const plate = { thicknessMm, refractiveIndex, fNumber };
  const title = `${thicknessMm} mm plate of index ${refractiveIndex} at F/${fNumber}`;
  const note = 'digits printed';
  checkPublished(
    { what: `${title}: focus shift, mm`, value: shiftMm, tolerance: 5.1e-7, source: 't (1 - 1/n)', note },
    () => glassPlateAberration(plate).focusShiftUm / 1000,
  );
  checkPublished(
    {
      what: `${title}: W040, nm`,
      value: w040Nm,
      tolerance: w040Nm < 1 ? 5.1e-5 : 5.1e-4,
      source: 't (n^2 - 1) / (128 n^3 F^4)',
      note,
    },
    () => glassPlateAberration(plate).sphericalNm,
  );
  checkPublished(
    {
      what: `${title}: longitudinal spherical aberration, um`,
      value: sphericalUm,
      tolerance: sphericalUm > 10 ? 5.1e-4 : 5.1e-5,
      source: 'exact refraction, tan u = 1 / 2F, by numpy',
      note: 'our F is 1 / (2 sin u): the same ray has sqrt(F^2 + 1/4)',
    },
    () =>
      glassPlateAberration({ ...plate, fNumber: Math.sqrt(fNumber * fNumber + 0.25) })
        .longitudinalSphericalUm,
  );
  checkPublished(
    {
      what: `${title}: exact path difference, nm`,
      value: exactNm,
      tolerance: 0.0003 * exactNm,
      source: 'exact refraction, tan u = 1 / 2F, by numpy',
      note: 'W040 of the same ray with the next term of its series, s^2 (1 + 1/n^2) / 2; the one after is 1e-4, and the digits',
    },
    () => {
      const ray = Math.sqrt(fNumber * fNumber + 0.25);
      const next = (1 + 1 / refractiveIndex ** 2) / (8 * ray * ray);
      return glassPlateAberration({ ...plate, fNumber: ray }).sphericalNm * (1 + next);
    },
  );
}
