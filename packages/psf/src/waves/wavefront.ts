/**
 * The wave that forms the image of a star: focus shift, Zernike and Seidel terms as one sum of Zernike
 * polynomials.
 *
 * The optical path difference W is positive where the wave is late (retarded) against a sphere around the
 * point (x, y) that a render is asked for. A wave that is late on one side turns to that side: light from the
 * pupil point (xi, eta) lands at
 *
 *   (2 F dW/dxi, 2 F dW/deta)      from (x, y), with W as a length and xi, eta in units of the pupil radius,
 *
 * so W = +xi moves the star to +x, and W = rho^3 cos(theta) draws a comet whose tail points to +x. Beyond
 * focus the light of the rim is early, W = -dz rho^2 / (8 F^2), and the rays have crossed.
 */

import { unitVector } from '../numerics/angle.ts';
import { requireNames } from '../numerics/options.ts';
import { requireFinite, requireInteger, requireObject } from '../numerics/require.ts';
import { requireFNumber } from '../optics/optics.ts';
import { maxNoll, type ZernikeSum, zernikeSum } from './zernike.ts';

/** Departures from a perfect wave; they add. An empty one is perfect. */
export interface Wavefront {
  /**
   * Sensor position less best focus, along the light, um, > 0 beyond focus. Paraxial: W = -dz rho^2 / (8
   * F^2). A beam that obeys the sine condition would have -dz (1 - sqrt(1 - (rho / 2F)^2)), at the rim 0.25 %
   * more at F/5 and 1 % at F/2.5.
   */
  readonly focusShiftUm?: number;
  /** Coefficients by Noll index, nm rms over the full circle, of either sign. */
  readonly zernikesNm?: Readonly<Record<number, number>>;
  /** Seidel terms at the edge of the pupil, nm. */
  readonly seidelNm?: SeidelTerms;
}

/**
 * Third-order aberrations by what they add at the rim, nm, of either sign; c = rho cos(theta - angleDeg):
 *
 *   W = tilt c + coma rho^2 c + astigmatism c^2 + (defocus + fieldCurvature) rho^2 + spherical rho^4
 */
export interface SeidelTerms {
  /** Of c: a shift of the image, nm. Default 0. */
  readonly tilt?: number;
  /** Of rho^2, nm. Default 0. */
  readonly defocus?: number;
  /** Of rho^2 c, nm. Default 0. */
  readonly coma?: number;
  /** Of c^2, nm. Default 0. */
  readonly astigmatism?: number;
  /** Of rho^2, from the field, nm. Default 0. */
  readonly fieldCurvature?: number;
  /** Of rho^4, nm. Default 0. */
  readonly spherical?: number;
  /** Direction of the star from the optical axis, degrees from +x toward +y. Default 0. */
  readonly angleDeg?: number;
}

/**
 * A wavefront as Zernike coefficients by Noll index, nm rms over the full circle (index 0 is not used).
 *
 * The Seidel terms are exact sums of Noll's first eleven: rho^2 = Z4 / (2 sqrt 3) + Z1 / 2, rho^2 cos(2
 * theta) = Z6 / sqrt 6, rho^3 cos(theta) = Z8 / (3 sqrt 8) + Z2 / 3, rho^4 = Z11 / (6 sqrt 5) + Z4 / (2 sqrt
 * 3) + Z1 / 3.
 *
 * ```ts
 * wavefrontZernikes({ focusShiftUm: 500 }, 5)[4] // -721.69
 * ```
 * @param fNumber  focal length over aperture, > 0.5
 * @throws RangeError or TypeError naming the term that is not a finite number or the index that is no Noll
 *   index
 */
export function wavefrontZernikes(wavefront: Wavefront, fNumber: number): Float64Array {
  requireNames('wavefront', wavefront, 'focusShiftUm zernikesNm seidelNm');
  requireFNumber(fNumber);
  const { focusShiftUm = 0, zernikesNm = {}, seidelNm = {} } = wavefront;
  requireFinite('wavefront.focusShiftUm', focusShiftUm);
  requireObject('wavefront.zernikesNm', zernikesNm);
  const indices = Object.keys(zernikesNm).map((key) =>
    requireInteger(`the index ${key} of wavefront.zernikesNm`, Number(key), 1, maxNoll),
  );
  for (const noll of indices) {
    requireFinite(`wavefront.zernikesNm[${noll}]`, zernikesNm[noll]);
  }
  const sum = new Float64Array(Math.max(11, ...indices) + 1);
  for (const noll of indices) sum[noll] += zernikesNm[noll];
  addDefocus(sum, (-1000 * focusShiftUm) / (8 * fNumber * fNumber));
  addSeidel(sum, seidelNm);
  return sum;
}

function addDefocus(sum: Float64Array, rimNm: number): void {
  sum[1] += rimNm / 2;
  sum[4] += rimNm / (2 * Math.sqrt(3));
}

function addSeidel(sum: Float64Array, terms: SeidelTerms): void {
  requireNames(
    'wavefront.seidelNm',
    terms,
    'tilt defocus coma astigmatism fieldCurvature spherical angleDeg',
  );
  for (const [name, value] of Object.entries(terms)) requireFinite(`wavefront.seidelNm.${name}`, value);
  const { tilt = 0, defocus = 0, coma = 0, astigmatism = 0, fieldCurvature = 0, spherical = 0 } = terms;
  const axis = unitVector(terms.angleDeg ?? 0);
  // rho cos(theta - angle) = x cos(angle) + y sin(angle); Z2 = 2 x, Z3 = 2 y.
  const tilted = tilt / 2 + coma / 3;
  sum[2] += tilted * axis.x;
  sum[3] += tilted * axis.y;
  const comatic = coma / (3 * Math.sqrt(8));
  sum[8] += comatic * axis.x;
  sum[7] += comatic * axis.y;
  // c^2 = rho^2 (1 + cos 2 (theta - angle)) / 2, and cos 2 (theta - angle) = cos 2 theta cos 2 angle + sin 2
  // theta sin 2 angle.
  const astigmatic = astigmatism / (2 * Math.sqrt(6));
  sum[6] += astigmatic * (axis.x * axis.x - axis.y * axis.y);
  sum[5] += astigmatic * 2 * axis.x * axis.y;
  addDefocus(sum, defocus + fieldCurvature + astigmatism / 2);
  sum[11] += spherical / (6 * Math.sqrt(5));
  sum[4] += spherical / (2 * Math.sqrt(3));
  sum[1] += spherical / 3;
}

/**
 * A wavefront ready to be evaluated, values in nm, slopes in nm a pupil radius. Arguments and errors as
 * `wavefrontZernikes`.
 */
export function wavefrontSurface(wavefront: Wavefront, fNumber: number): ZernikeSum {
  return zernikeSum(wavefrontZernikes(wavefront, fNumber));
}
