/**
 * A plane glass plate in the converging beam (filter, window, prism): how far it moves the focus, and its
 * spherical aberration.
 */

import { requireNames } from '../numerics/options.ts';
import {
  requireNonNegative,
  requireObject,
  requireOneOf,
  requirePositive,
  requireWithin,
} from '../numerics/require.ts';
import { requireFNumber } from './optics.ts';

interface Sellmeier {
  readonly b: readonly [number, number, number];
  /** Squared resonance wavelengths, um^2. */
  readonly c: readonly [number, number, number];
  /** Range that the formula was fitted to, nm. */
  readonly fromNm: number;
  readonly toNm: number;
}

const glasses = {
  // SCHOTT optical glass catalogue, 2017, as in the refractiveindex.info database; range from memory.
  'N-BK7': {
    b: [1.03961212, 0.231792344, 1.01046945],
    c: [0.00600069867, 0.0200179144, 103.560653],
    fromNm: 300,
    toNm: 2500,
  },
  // Malitson 1965, J. Opt. Soc. Am. 55, 1205 (20 C), as in the refractiveindex.info database.
  'fused-silica': {
    b: [0.6961663, 0.4079426, 0.8974794],
    c: [0.0684043 ** 2, 0.1162414 ** 2, 9.896161 ** 2],
    fromNm: 210,
    toNm: 3710,
  },
} satisfies Record<string, Sellmeier>;

/** Name of a glass whose dispersion is known. */
export type Glass = keyof typeof glasses;

/**
 * Refractive index of a glass by its Sellmeier formula, n^2 - 1 = sum B L^2 / (L^2 - C), with L in um.
 *
 * ```ts
 * glassIndex('N-BK7', 587.5618) // 1.5168
 * ```
 * @throws RangeError or TypeError for an unknown glass, or a wavelength outside the range of its formula
 */
export function glassIndex(glass: Glass, wavelengthNm: number): number {
  requireOneOf('glass', glass, Object.keys(glasses) as Glass[]);
  const { b, c, fromNm, toNm }: Sellmeier = glasses[glass];
  requireWithin('wavelengthNm', wavelengthNm, fromNm, toNm);
  return sellmeierIndex({ b, c }, wavelengthNm);
}

/** n of n^2 - 1 = sum B L^2 / (L^2 - C). */
export function sellmeierIndex({ b, c }: Pick<Sellmeier, 'b' | 'c'>, wavelengthNm: number): number {
  const squaredUm = (wavelengthNm / 1000) * (wavelengthNm / 1000);
  let square = 1;
  for (let i = 0; i < 3; i++) square += (b[i] * squaredUm) / (squaredUm - c[i]);
  return Math.sqrt(square);
}

/** A plane-parallel plate in a beam. */
export interface GlassPlateOptions {
  /** Thickness along the light, mm, >= 0. */
  readonly thicknessMm: number;
  /** Refractive index, >= 1; see `glassIndex`. */
  readonly refractiveIndex: number;
  /** F-number of the beam: give it to get the shift of the marginal ray. Left out: the paraxial shift. */
  readonly fNumber?: number;
}

/**
 * How far a plane plate moves the focus along the light, um; never negative. A sensor that stays where it was
 * is then before focus by as much (its focus shift changes by minus this).
 *
 *   paraxial       t (1 - 1 / n)
 *   marginal ray   t (1 - cos u / sqrt(n^2 - sin^2 u)),  sin u = 1 / (2F)
 *
 * The difference of the two is the spherical aberration that the plate adds. From Snell's law; exact for a
 * flat plate square to the beam.
 *
 * ```ts
 * glassFocusShiftUm({ thicknessMm: 2, refractiveIndex: 1.5168 }) // 681
 * ```
 * @throws RangeError or TypeError naming the argument that is out of range
 */
export function glassFocusShiftUm(options: GlassPlateOptions): number {
  const { thicknessMm, refractiveIndex, fNumber } = requireNames(
    'options',
    options,
    'thicknessMm refractiveIndex fNumber',
  );
  requireNonNegative('thicknessMm', thicknessMm);
  requirePositive('refractiveIndex', refractiveIndex);
  if (refractiveIndex < 1) throw new RangeError(`refractiveIndex must be >= 1, got ${refractiveIndex}`);
  const sinU = fNumber === undefined ? 0 : 1 / (2 * requireFNumber(fNumber));
  const slope = Math.sqrt((1 - sinU * sinU) / (refractiveIndex * refractiveIndex - sinU * sinU));
  return 1000 * thicknessMm * (1 - slope);
}

/** What a plate of glass adds to the wavefront. */
export interface GlassPlateAberration {
  /** Paraxial focus shift, um, >= 0: how far the plate moves the focus along the light. */
  readonly focusShiftUm: number;
  /** How far beyond the paraxial focus the marginal rays meet, um, >= 0. */
  readonly longitudinalSphericalUm: number;
  /**
   * Seidel spherical aberration W040 at the rim, nm, >= 0 (the light of the rim is late), against the
   * paraxial focus.
   */
  readonly sphericalNm: number;
}

/**
 * Focus shift and spherical aberration of a plane plate square to the axis of an f/F beam.
 *
 *   W040 = t (n^2 - 1) / (128 n^3 F^4)
 *
 * The first term of the exact path difference t (sqrt(n^2 - s^2) - n + (1 - sqrt(1 - s^2)) / n), s = sin u =
 * 1 / (2F), which exceeds it by a fraction s^2 (1 + 1 / n^2) / 2: 0.7 % at F/5, 2.9 % at F/2.5 for n = 1.52
 * (derived, confirmed by exact rays). As a term of a `Wavefront`: `seidelNm: { spherical: sphericalNm }`.
 *
 * ```ts
 * glassPlateAberration({ thicknessMm: 2, refractiveIndex: 1.5168, fNumber: 5 })
 * // { focusShiftUm: 681.4, longitudinalSphericalUm: 3.75, sphericalNm: 9.32 }
 * ```
 * @throws RangeError or TypeError naming the argument that is out of range
 */
export function glassPlateAberration(options: Required<GlassPlateOptions>): GlassPlateAberration {
  requireObject('options', options);
  const { thicknessMm, refractiveIndex: n, fNumber } = options;
  requirePositive('fNumber', fNumber);
  const focusShiftUm = glassFocusShiftUm({ thicknessMm, refractiveIndex: n });
  const square = fNumber * fNumber;
  return {
    focusShiftUm,
    longitudinalSphericalUm: Math.max(0, glassFocusShiftUm(options) - focusShiftUm),
    sphericalNm: (1e6 * thicknessMm * (n * n - 1)) / (128 * n * n * n * square * square),
  };
}
