/**
 * Stars in all directions together, and how far the model counts of each direction have to be scaled to give
 * as many.
 */
import { angleFrom, exp } from '@holdfast/psf/numerics';

/** Square degrees of the whole celestial sphere. */
const sphereDeg2 = 41252.96;

/**
 * Stars brighter than V per square degree, averaged over the whole sphere:
 *
 *   log10 S = -0.0003 V^3 + 0.0019 V^2 + 0.484 V + 0.795          stars in all directions, V from 4 to 25
 *
 * "Counting stars", Cosmic Reflections, February 2020. It agrees with the Hipparcos catalogue within 6 % at V
 * 6 to 8 and with what Gaia found at V 13 (`test/published/star-counts.test.ts`).
 */
function meanPerDeg2(magnitude: number): number {
  const v = magnitude;
  return exp(Math.LN10 * (-0.0003 * v * v * v + 0.0019 * v * v + 0.484 * v + 0.795)) / sphereDeg2;
}

/** Equal areas of a hemisphere, and longitudes over half a turn: to 1 % of the mean. */
const belts = 40;
const longitudesDeg = [15, 45, 75, 105, 135, 165];
/** Beyond these magnitudes the scale stays what it is there. */
const [brightest, faintest] = [4, 18];

/**
 * All-sky total over the mean of the model counts: 1.2 to 1.6 for V 10 to 16. The integral is right, and
 * extinction and band are those of the counts themselves: the model of the galaxy behind formula and table,
 * made in 1980, has too few stars.
 *
 * @param perDeg2  model counts brighter than a magnitude at a latitude (0 to 90) and longitude
 */
export function totalsScale(
  magnitude: number,
  perDeg2: (magnitude: number, latitudeDeg: number, longitudeDeg: number) => number,
): number {
  const within = Math.min(faintest, Math.max(brightest, magnitude));
  let sum = 0;
  for (let belt = 0; belt < belts; belt++) {
    const sine = (belt + 0.5) / belts;
    const latitudeDeg = (180 / Math.PI) * angleFrom(1, 0, Math.sqrt(1 - sine * sine), sine);
    for (const longitudeDeg of longitudesDeg) sum += perDeg2(within, latitudeDeg, longitudeDeg);
  }
  return (meanPerDeg2(within) * belts * longitudesDeg.length) / sum;
}
