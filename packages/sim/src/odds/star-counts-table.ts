/** Star counts at any latitude from V = 15 on: the table of Allen's Astrophysical Quantities. */
import { exp } from '@holdfast/psf/numerics';

const firstMagnitude = 15;
const lastMagnitude = 25;
const latitudesDeg = [0, 5, 10, 20, 30, 60, 90];

/**
 * log10 of the stars brighter than V = 15, 16 ... 25 per square degree, a row a latitude: Allen's
 * Astrophysical Quantities, 4th ed. (Cox 2000), by a public transcription. There the cell b = 0, V = 18 reads
 * 4.117, less than at b = 5 and off the smooth run of its row: taken for a slip of the pen, it stands here as
 * its four neighbors' cubic has it.
 */
const logCounts = [
  [3.105, 3.485, 3.842, 4.167, 4.474, 4.776, 5.078, 5.342, 5.536, 5.684, 5.813],
  [3.085, 3.46, 3.809, 4.13, 4.428, 4.722, 5.011, 5.262, 5.448, 5.594, 5.722],
  [2.985, 3.331, 3.648, 3.939, 4.21, 4.468, 4.705, 4.903, 5.059, 5.195, 5.319],
  [2.781, 3.089, 3.363, 3.612, 3.845, 4.057, 4.236, 4.382, 4.51, 4.633, 4.749],
  [2.591, 2.875, 3.124, 3.349, 3.559, 3.748, 3.909, 4.046, 4.168, 4.286, 4.393],
  [2.209, 2.458, 2.673, 2.869, 3.052, 3.226, 3.389, 3.538, 3.665, 3.772, 3.863],
  [2.11, 2.347, 2.553, 2.744, 2.924, 3.092, 3.245, 3.382, 3.5, 3.604, 3.695],
];

/**
 * Stars brighter than V per square degree, averaged over longitude: the logarithm of the table, straight from
 * entry to entry in magnitude and in latitude.
 *
 * @param magnitude    from 15 to 25
 * @param latitudeDeg  |b|, from 0 to 90
 */
export function allenTable(magnitude: number, latitudeDeg: number): number {
  let row = 0;
  while (row + 2 < latitudesDeg.length && latitudeDeg > latitudesDeg[row + 1]) row++;
  const part = (latitudeDeg - latitudesDeg[row]) / (latitudesDeg[row + 1] - latitudesDeg[row]);
  const column = Math.min(lastMagnitude - 1, Math.floor(magnitude)) - firstMagnitude;
  const beyond = magnitude - firstMagnitude - column;
  const along = (counts: readonly number[]): number =>
    counts[column] + beyond * (counts[column + 1] - counts[column]);
  const [low, high] = [along(logCounts[row]), along(logCounts[row + 1])];
  return exp(Math.LN10 * (low + part * (high - low)));
}
