/** The spherical aberration that a plane glass plate (filter, window, prism) adds to a converging beam. */

import { requirePositive } from '../numerics/require.ts';
import { type GlassPlateOptions, glassFocusShiftUm } from './glass.ts';

export interface GlassPlateAberration {
  /** Paraxial focus shift, um, >= 0: how far the plate moves the focus along the light. */
  readonly focusShiftUm: number;
  /** How far beyond the paraxial focus the marginal rays meet, um, >= 0. */
  readonly longitudinalSphericalUm: number;
  /**
   * Seidel spherical aberration W040 at the rim, nm, >= 0 (the light of the rim is late), against the paraxial
   * focus.
   */
  readonly sphericalNm: number;
}

/**
 * Focus shift and spherical aberration of a plane plate square to the axis of an f/F beam.
 *
 *   W040 = t (n^2 - 1) / (128 n^3 F^4)
 *
 * The first term of the exact path difference t (sqrt(n^2 - s^2) - n + (1 - sqrt(1 - s^2)) / n), s = sin u = 1 /
 * (2F), which exceeds it by a fraction s^2 (1 + 1 / n^2) / 2: 0.7 % at F/5, 2.9 % at F/2.5 for n = 1.52 (derived,
 * confirmed by exact rays). As a term of a `Wavefront`: `seidelNm: { spherical: sphericalNm }`.
 *
 * ```ts
 * glassPlateAberration({ thicknessMm: 2, refractiveIndex: 1.5168, fNumber: 5 })
 * // { focusShiftUm: 681.4, longitudinalSphericalUm: 3.75, sphericalNm: 9.32 }
 * ```
 * @throws RangeError or TypeError naming the argument that is out of range
 */
export function glassPlateAberration(options: Required<GlassPlateOptions>): GlassPlateAberration {
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
