/**
 * Zernike polynomials by Noll's index (Noll 1976, JOSA 66, 207), each of unit mean square over the full
 * circle:
 *
 *   Z(rho, theta) = sqrt(n + 1) R(rho)                                  m = 0
 *                 = sqrt(2 (n + 1)) R(rho) cos(m theta)                 m > 0, even index
 *                 = sqrt(2 (n + 1)) R(rho) sin(|m| theta)               m < 0, odd index
 *
 * theta turns from +x toward +y. In rho^2 the radial part is a Jacobi polynomial, R = rho^m P[(n - m) / 2](0,
 * m)(2 rho^2 - 1), evaluated by its three-term recurrence, which stays accurate at every order, and rho^m
 * cos(m theta), rho^m sin(m theta) are the real and imaginary part of (x + i y)^m: no angle is ever taken.
 */
import { requireNames } from '../numerics/options.ts';
import { requireInteger, requireWithin } from '../numerics/require.ts';

/** Radial order n and azimuthal order m of a Zernike polynomial; m < 0 means the sine. */
export interface ZernikeOrder {
  /** Radial order, >= 0. */
  readonly n: number;
  /** Azimuthal order, from -n to n; < 0 for the sine. */
  readonly m: number;
}

/**
 * From the middle of the pupil along each axis, pupil radii: beyond, the highest orders leave the range of
 * numbers.
 */
const farthest = 100;

/** Highest Noll index: radial order 99. */
export const maxNoll = 5050;

/**
 * Orders of a Noll index: 1 piston, 2 and 3 tilt, 4 defocus, 5 and 6 astigmatism, 7 and 8 coma, 11 spherical.
 *
 * ```ts
 * zernikeOrder(8) // { n: 3, m: 1 }: coma along x
 * ```
 * @throws RangeError unless `noll` is a whole number from 1 to 5050
 */
export function zernikeOrder(noll: number): ZernikeOrder {
  requireInteger('noll', noll, 1, maxNoll);
  let n = 0;
  while (((n + 1) * (n + 2)) / 2 < noll) n++;
  // Within an order |m| rises: n even 0, 2, 2, 4, 4 ..., n odd 1, 1, 3, 3 ...
  const place = noll - (n * (n + 1)) / 2 - 1;
  const m = n % 2 === 0 ? 2 * Math.floor((place + 1) / 2) : 2 * Math.floor(place / 2) + 1;
  return { n, m: noll % 2 === 0 ? m : -m || 0 };
}

/**
 * Noll index of the orders (n, m), the inverse of `zernikeOrder`.
 *
 * @throws RangeError unless n is a whole number from 0 to 99 and m one of -n, -n + 2, ... n
 */
export function nollIndex(order: ZernikeOrder): number {
  const { n, m } = requireNames('order', order, 'n m');
  requireInteger('n', n, 0, 99);
  requireInteger('m', m, -n, n);
  if ((n - m) % 2 !== 0) throw new RangeError(`n - m must be even, got n = ${n}, m = ${m}`);
  const first = (n * (n + 1)) / 2 + Math.abs(m);
  // Two neighbors share |m| > 0: the even one is the cosine.
  if (m === 0) return first + 1;
  return first % 2 === (m > 0 ? 0 : 1) ? first : first + 1;
}

/** Value and slopes of a surface at one point. */
export interface SurfacePoint {
  value: number;
  /** Slope along x, per unit of x. */
  slopeX: number;
  /** Slope along y. */
  slopeY: number;
}

/** The same with the curvature. */
export interface CurvedPoint extends SurfacePoint {
  /** Sum of the second derivatives along x and y. */
  laplacian: number;
}

/** A sum of Zernike polynomials, ready to be evaluated at many points. */
export interface ZernikeSum {
  /** Highest radial order with a coefficient other than 0. */
  readonly order: number;
  /** Whether it is the same at (x, -y), to the bit: it has no sine terms. */
  readonly isEvenInY: boolean;
  /**
   * Write value and slopes at (x, y), in units of the pupil radius, to `out`. Allocates nothing; works
   * outside the circle too.
   */
  evaluate(x: number, y: number, out: SurfacePoint): void;
  /** The same, and the Laplacian. */
  evaluateCurved(x: number, y: number, out: CurvedPoint): void;
}

/** Terms of one |m|: coefficients of the Jacobi polynomials in 2 rho^2 - 1, normalization included. */
interface Azimuthal {
  readonly m: number;
  readonly cosine: Float64Array;
  readonly sine: Float64Array;
}

/**
 * A sum of Zernike polynomials, coefficients by Noll index (index 0 is not used).
 *
 * @throws RangeError if there are more coefficients than Noll indices
 */
export function zernikeSum(coefficients: ArrayLike<number>): ZernikeSum {
  const groups = new Map<number, { cosine: number[]; sine: number[] }>();
  let order = 0;
  for (let noll = 1; noll < coefficients.length; noll++) {
    const coefficient = coefficients[noll];
    if (coefficient === 0) continue;
    const { n, m } = zernikeOrder(noll);
    order = Math.max(order, n);
    const group = groups.get(Math.abs(m)) ?? { cosine: [], sine: [] };
    groups.set(Math.abs(m), group);
    const degree = (n - Math.abs(m)) / 2;
    while (group.cosine.length <= degree) {
      group.cosine.push(0);
      group.sine.push(0);
    }
    const scaled = coefficient * Math.sqrt((m === 0 ? 1 : 2) * (n + 1));
    if (m >= 0) group.cosine[degree] += scaled;
    else group.sine[degree] += scaled;
  }
  const terms: Azimuthal[] = [...groups].map(([m, { cosine, sine }]) => ({
    m,
    cosine: Float64Array.from(cosine),
    sine: Float64Array.from(sine),
  }));
  terms.sort((one, two) => one.m - two.m);
  return {
    order,
    isEvenInY: terms.every(({ sine }) => sine.every((coefficient) => coefficient === 0)),
    evaluate(x, y, out) {
      evaluateTerms(terms, x, y, out);
    },
    evaluateCurved(x, y, out) {
      out.laplacian = evaluateTerms(terms, x, y, out);
    },
  };
}

/** Write value and slopes to `out` and return the Laplacian. */
function evaluateTerms(terms: readonly Azimuthal[], x: number, y: number, out: SurfacePoint): number {
  let value = 0;
  let slopeX = 0;
  let slopeY = 0;
  let laplacian = 0;
  const square = x * x + y * y;
  const t = 2 * square - 1;
  // (x + i y)^m and (x + i y)^(m - 1), grown from one group to the next.
  let power = 0;
  let re = 1;
  let im = 0;
  let reBelow = 0;
  let imBelow = 0;
  for (let g = 0; g < terms.length; g++) {
    const { m, cosine, sine } = terms[g];
    for (; power < m; power++) {
      reBelow = re;
      imBelow = im;
      re = reBelow * x - imBelow * y;
      im = reBelow * y + imBelow * x;
    }

    // Sums of c[k] P[k](t), c[k] P'[k](t) and c[k] P''[k](t), P[k] the Jacobi polynomials (0, m).
    let p = 1;
    let pBefore = 0;
    let slope = 0;
    let slopeBefore = 0;
    let bend = 0;
    let bendBefore = 0;
    let a = cosine[0];
    let b = sine[0];
    let aSlope = 0;
    let bSlope = 0;
    let aBend = 0;
    let bBend = 0;
    for (let k = 1; k < cosine.length; k++) {
      // 2 k (k + m) (2k + m - 2) P[k] = (2k + m - 1) ((2k + m) (2k + m - 2) t - m^2) P[k-1] - 2 (k - 1) (k +
      // m - 1) (2k + m) P[k-2]
      let growT = 0.5 * (m + 2);
      let grow = -0.5 * m;
      let fall = 0;
      if (k > 1) {
        const s = 2 * k + m;
        const scale = 1 / (2 * k * (k + m) * (s - 2));
        growT = scale * (s - 1) * s * (s - 2);
        grow = -scale * (s - 1) * m * m;
        fall = scale * 2 * (k - 1) * (k + m - 1) * s;
      }
      const pNext = (growT * t + grow) * p - fall * pBefore;
      const slopeNext = growT * p + (growT * t + grow) * slope - fall * slopeBefore;
      const bendNext = 2 * growT * slope + (growT * t + grow) * bend - fall * bendBefore;
      pBefore = p;
      p = pNext;
      slopeBefore = slope;
      slope = slopeNext;
      bendBefore = bend;
      bend = bendNext;
      a += cosine[k] * p;
      b += sine[k] * p;
      aSlope += cosine[k] * slope;
      bSlope += sine[k] * slope;
      aBend += cosine[k] * bend;
      bBend += sine[k] * bend;
    }

    // a Re z^m + b Im z^m; d(z^m)/dx = m z^(m - 1), d(z^m)/dy = i m z^(m - 1), dt/dx = 4 x.
    const along = 4 * (aSlope * re + bSlope * im);
    value += a * re + b * im;
    slopeX += along * x + m * (a * reBelow + b * imBelow);
    slopeY += along * y + m * (b * reBelow - a * imBelow);
    // z^m is harmonic and grad(t) . grad(z^m) = 4 m z^m.
    laplacian +=
      (16 * square * aBend + 8 * (1 + m) * aSlope) * re + (16 * square * bBend + 8 * (1 + m) * bSlope) * im;
  }
  out.value = value;
  out.slopeX = slopeX;
  out.slopeY = slopeY;
  return laplacian;
}

/**
 * Value of one Zernike polynomial at (x, y), in units of the pupil radius.
 *
 * ```ts
 * zernikeValue(4, 1, 0) // sqrt(3): defocus at the rim
 * ```
 * @throws RangeError unless `noll` is a whole number from 1 to 5050 and x and y are in [-100, 100]
 */
export function zernikeValue(noll: number, x: number, y: number): number {
  zernikeOrder(noll);
  requireWithin('x', x, -farthest, farthest);
  requireWithin('y', y, -farthest, farthest);
  const coefficients = new Float64Array(noll + 1);
  coefficients[noll] = 1;
  const point = { value: 0, slopeX: 0, slopeY: 0 };
  zernikeSum(coefficients).evaluate(x, y, point);
  return point.value;
}
