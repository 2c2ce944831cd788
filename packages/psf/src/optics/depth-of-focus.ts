/** How far out of focus a star may be before it counts as blurred, by a named criterion. */

import { requireNames } from '../numerics/options.ts';
import { requireBelow, requireOneOf, requirePositive } from '../numerics/require.ts';
import { requireFNumber } from './optics.ts';

const criteria = ['quarter-wave', 'strehl-0.8', 'airy-disc'] as const;

/**
 * - `'quarter-wave'`: the edge of the pupil is a quarter of a wave off (Rayleigh), 2 lambda F^2.
 * - `'strehl-0.8'`: the center of the diffraction image keeps 80 % of its light. With the on-axis Strehl
 *   ratio S = (sin u / u)^2, u = pi W020 (1 - eps^2) / lambda (Mahajan, Optical Imaging and Aberrations II;
 *   from memory) this is 2.0602 lambda F^2 / (1 - eps^2).
 * - `'airy-disc'`: the geometric disc is as wide as the Airy disc, 2.4393 lambda F^2.
 */
export type DepthOfFocusCriterion = (typeof criteria)[number];

/** A beam, and what counts as in focus. */
export interface DepthOfFocusOptions {
  /** What counts as in focus. */
  readonly criterion: DepthOfFocusCriterion;
  /** F-number of the beam, > 0.5. */
  readonly fNumber: number;
  /** Wavelength, nm, > 0. */
  readonly wavelengthNm: number;
  /** Linear central obstruction, in [0, 1). Default 0; only 'strehl-0.8' depends on it. */
  readonly obstructionRatio?: number;
}

/** u / pi where (sin u / u)^2 = 0.8: the waves of edge defocus that take a fifth of the central light. */
const wavesAtStrehl08 = 0.2575216080606974;

/** First zero of J1 over pi: radius of the Airy disc in units of lambda F. */
const airyRadius = 1.219669891266504;

/**
 * Depth of focus on one side, um: the star stays within the criterion from minus to plus this focus shift.
 *
 * ```ts
 * depthOfFocusUm({ criterion: 'quarter-wave', fNumber: 5, wavelengthNm: 550 }) // 27.5
 * ```
 * @throws RangeError or TypeError naming the argument that is out of range
 */
export function depthOfFocusUm(options: DepthOfFocusOptions): number {
  requireNames('options', options, 'criterion fNumber wavelengthNm obstructionRatio');
  const { criterion, fNumber, wavelengthNm, obstructionRatio = 0 } = options;
  requireOneOf('criterion', criterion, criteria);
  requireFNumber(fNumber);
  requirePositive('wavelengthNm', wavelengthNm);
  requireBelow('obstructionRatio', obstructionRatio, 0, 1);
  const lambdaF2Um = (wavelengthNm / 1000) * fNumber * fNumber;
  switch (criterion) {
    case 'quarter-wave':
      return 2 * lambdaF2Um;
    case 'strehl-0.8':
      return (8 * wavesAtStrehl08 * lambdaF2Um) / (1 - obstructionRatio * obstructionRatio);
    case 'airy-disc':
      return 2 * airyRadius * lambdaF2Um;
  }
}
