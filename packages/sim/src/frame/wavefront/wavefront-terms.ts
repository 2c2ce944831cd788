/** Names of the terms of a wavefront, and what a focus shift alone makes of them in an exact cone. */
import { gaussLegendre } from '@holdfast/psf/numerics';

/** By Noll index. */
export const termNames: Readonly<Record<number, string>> = {
  4: 'defocus',
  5: 'astigmatism at 45°',
  6: 'astigmatism at 0°',
  7: 'coma along y',
  8: 'coma along x',
  9: 'trefoil along y',
  10: 'trefoil along x',
  11: 'spherical aberration',
};

/**
 * A focus shift dz beyond focus makes W = -dz (1 - sqrt(1 - (rho / 2F)^2)) in a beam that obeys the sine
 * condition: its part along sqrt(2 k + 1) P_k(2 rho^2 - 1), nm per um.
 */
function sphereNmPerUm(fNumber: number, part: (t: number) => number): number {
  const { nodes, weights } = gaussLegendre(32);
  let sum = 0;
  for (let k = 0; k < nodes.length; k++) {
    const square = (1 + nodes[k]) / 2;
    sum -= 500 * weights[k] * (1 - Math.sqrt(1 - square / (4 * fNumber * fNumber))) * part(nodes[k]);
  }
  return sum;
}

/** Of Noll's term 4, Z = sqrt(3) (2 rho^2 - 1). */
export const defocusNmPerUm = (fNumber: number): number => sphereNmPerUm(fNumber, (t) => Math.sqrt(3) * t);

/** Of term 11, Z = sqrt(5) (6 rho^4 - 6 rho^2 + 1). */
export const sphericalNmPerUm = (fNumber: number): number =>
  sphereNmPerUm(fNumber, (t) => (Math.sqrt(5) * (3 * t * t - 1)) / 2);
