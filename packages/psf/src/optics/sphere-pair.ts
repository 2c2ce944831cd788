/**
 * Coma, astigmatism and field curvature of two spherical mirrors behind a corrector plate, by paraxial rays.
 */

/** In units of what they are for one mirror with the stop at it: see `spherePair`. */
export interface SpherePair {
  /** Coma over that of a paraboloid of the same F-number and focal length. */
  readonly coma: number;
  /** Tangential and sagittal focus shift of a flat sensor, in units of h^2 / f. */
  readonly tangential: number;
  readonly sagittal: number;
}

/** A paraxial ray: height and slope. */
interface Ray {
  height: number;
  slope: number;
}

/**
 * Seidel sums of a spherical primary and a spherical secondary whose stop is a thin plate in front of them.
 * The plate takes away spherical aberration alone, since the chief ray passes its middle.
 *
 *   A = n i of the marginal ray, B = n i of the chief ray, H = Lagrange invariant
 *   S2 = -A B y d(u / n),   S3 = -B^2 y d(u / n),   S4 = -H^2 c d(1 / n)
 *
 * (Welford, Aberrations of Optical Systems, chapter 8, from memory; confirmed by exact rays through the same
 * mirrors.)
 *
 * @param m       F-number of the telescope over that of its first mirror, > 1
 * @param b       from the first mirror to the focal plane behind it, in focal lengths of the first mirror
 * @param stop    from the first mirror to the plate in front of it, in focal lengths of the first mirror
 */
export function spherePair(m: number, b: number, stop: number): SpherePair {
  // Unit: the focal length of the first mirror. The second one stands at `k` before the first one's focus.
  const k = (1 + b) / (m + 1);
  const mirrors = [
    { curvature: -1 / 2, next: -(1 - k) },
    { curvature: -(m - 1) / (2 * k * m), next: 0 },
  ];
  const marginal: Ray = { height: 1, slope: 0 };
  const chief: Ray = { height: stop, slope: 1 };
  const invariant = marginal.height * chief.slope;
  let n = 1;
  let comaSum = 0;
  let astigmatismSum = 0;
  let petzvalSum = 0;
  for (const { curvature: c, next } of mirrors) {
    const a = n * (marginal.height * c + marginal.slope);
    const bar = n * (chief.height * c + chief.slope);
    const before = marginal.slope / n;
    reflect(marginal, c);
    reflect(chief, c);
    const after = marginal.slope / -n;
    const y = marginal.height;
    comaSum -= a * bar * y * (after - before);
    astigmatismSum -= bar * bar * y * (after - before);
    petzvalSum -= invariant * invariant * c * (-1 / n - 1 / n);
    n = -n;
    marginal.height += next * marginal.slope;
    chief.height += next * chief.slope;
  }
  // In these units a paraboloid of focal length m has S2 = -1 / (2 m^2) and a focus shift of h^2 / f = m.
  return {
    coma: -2 * m * m * comaSum,
    tangential: (m / 2) * (3 * astigmatismSum + petzvalSum),
    sagittal: (m / 2) * (astigmatismSum + petzvalSum),
  };
}

function reflect(ray: Ray, curvature: number): void {
  ray.slope = -ray.slope - 2 * ray.height * curvature;
}
