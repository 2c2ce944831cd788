/** Star counts away from the Milky Way: the fitted formula of Bahcall and Soneira. */
import { exp, log, unitVector } from '@holdfast/psf/numerics';

/**
 * Stars brighter than V, per square degree, at a galactic latitude b of 20 degrees or more and longitude l:
 *
 *   C1 10^(beta u) / (1 + 10^(alpha u))^delta / (sin b (1 - mu cot b cos l))^(3 - 5 gamma)          u = V - 15.75, disc
 *   + C2 10^(eta w) / (1 + 10^(kappa w))^lambda / (1 - cos b cos l)^sigma                          w = V - 17.5, halo
 *
 * Bahcall & Soneira 1980, ApJS 44, 73, eq. (B1), stated to fit their model of the galaxy within 15 %; the
 * constants by two independent public transcriptions of it. At V = 12 mu and gamma have a kink, as printed.
 *
 * @param latitudeDeg  |b|, from 20 to 90
 */
export function bahcallSoneira(magnitude: number, latitudeDeg: number, longitudeDeg: number): number {
  const { x: cosB, y: sinB } = unitVector(latitudeDeg);
  const towardCenter = cosB * unitVector(longitudeDeg).x;
  const past12 = Math.min(20, Math.max(12, magnitude)) - 12;
  // The printed straight lines end at gamma = 0.04 and mu = 0.09.
  const gamma = 0.36 - 0.04 * past12;
  const mu = 0.03 + 0.0075 * past12;
  const u = magnitude - 15.75;
  const w = magnitude - 17.5;
  const disc =
    (925 * tenTo(0.035 * u)) / (1 + tenTo(-0.132 * u)) ** 3 / power(sinB - mu * towardCenter, 3 - 5 * gamma);
  const halo =
    (1050 * tenTo(0.087 * w)) /
    power(1 + tenTo(-0.18 * w), 2.5) /
    power(1 - towardCenter, 1.45 - 0.2 * towardCenter);
  return disc + halo;
}

const tenTo = (x: number): number => exp(Math.LN10 * x);
const power = (base: number, exponent: number): number => exp(exponent * log(base));
