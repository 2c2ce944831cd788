/**
 * The photometric bands: how many photons a star of magnitude 0 sends above the atmosphere.
 *
 * Wavelength and flux density: Bessell, Castelli & Plez 1998, A&A 333, 231, Table A2 (A0 star; erg cm^-2 s^-1
 * A^-1). Bandwidth: area under the passband of Bessell 1990, PASP 102, 1181, Table 2, with its peak at 1.
 */
import { requireOneOf } from '../numerics/require.ts';

/** A wavelength range to which magnitudes refer. */
export interface Band {
  /** Effective wavelength, nm. */
  readonly wavelengthNm: number;
  /** Photons of a star of magnitude 0 per second, square centimeter and nanometer, above the atmosphere. */
  readonly photonsPerSCm2Nm: number;
  /** Equivalent width, nm. */
  readonly bandwidthNm: number;
}

/** Planck's constant times the speed of light, erg A (both exact in the SI). */
const planckTimesLightErgA = 6.62607015e-27 * 2.99792458e18;

function band(wavelengthNm: number, ergPerSCm2A: number, bandwidthNm: number): Band {
  const photonsPerSCm2A = (ergPerSCm2A * wavelengthNm * 10) / planckTimesLightErgA;
  return { wavelengthNm, photonsPerSCm2Nm: 10 * photonsPerSCm2A, bandwidthNm };
}

const V = band(545, 363.1e-11, 89);

/**
 * U, B, V, R, I; and `clear`, a guide camera without a filter. `clear` takes the star's V magnitude and holds
 * its photon density to be that of V from 400 to 700 nm. Interpolating the bands of this table with the
 * colors of main-sequence stars (from memory), the true mean is 0.89 to 1.01 of that for types A0 to M0: what
 * is lost on the blue side comes back on the red. With a `bandwidthNm` of 500, for a camera sensitive to 900
 * nm, it is 0.77 (A0) to 1.13 (K5) and 1.5 (M0).
 */
export const bands = {
  U: band(366, 417.5e-11, 64),
  B: band(438, 632e-11, 96),
  V,
  R: band(641, 217.7e-11, 159),
  I: band(798, 112.6e-11, 150),
  clear: { ...V, bandwidthNm: 300 },
} as const satisfies Record<string, Band>;

/** Name of a photometric band. */
export type BandName = keyof typeof bands;

/** The band of this name. @throws TypeError naming the bands that exist */
export function requireBand(name: BandName): Band {
  return bands[requireOneOf('band', name, Object.keys(bands) as BandName[])];
}
