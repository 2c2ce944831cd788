/** What the loop does with each measured offset: a correction of the mount. */
import { requireNonNegative } from '@holdfast/psf/numerics';
import type { LoopGains } from '../motion/loop-response.ts';

/** How measured offsets become corrections. Lengths in arcsec, both axes alike. */
export interface Corrections extends LoopGains {
  /** Offsets up to this are left alone. Default 0. */
  readonly deadZoneArcsec?: number;
  /** Corrections smaller than this are not made. Default 0. */
  readonly smallestCorrectionArcsec?: number;
  /** Corrections are cut to this. Default Infinity. */
  readonly largestCorrectionArcsec?: number;
}

/** One axis of the loop. */
export interface AxisLoop {
  /**
   * The correction for an offset of the star from the set point, arcsec: what the mount shall move the star
   * by.
   */
  correct(offsetArcsec: number): number;
}

/**
 * A proportional loop with an integral term beside it, and no prediction:
 *
 *   sum += i * offset,   correction = -(g * offset + sum)
 *
 * An offset within the dead zone counts as 0. The sum never exceeds the largest correction, so that a star
 * that was far off for long does not leave a swing behind.
 *
 * @throws RangeError when a length is negative, or the largest correction is not above the smallest
 */
export function prepareAxisLoop({
  proportionalGain,
  integralGain = 0,
  deadZoneArcsec = 0,
  smallestCorrectionArcsec = 0,
  largestCorrectionArcsec = Infinity,
}: Corrections): AxisLoop {
  requireNonNegative('deadZoneArcsec', deadZoneArcsec);
  requireNonNegative('smallestCorrectionArcsec', smallestCorrectionArcsec);
  if (!(largestCorrectionArcsec > smallestCorrectionArcsec))
    throw new RangeError(
      `largestCorrectionArcsec must be above smallestCorrectionArcsec of ${smallestCorrectionArcsec}, got ${largestCorrectionArcsec}`,
    );
  const limited = (value: number) =>
    Math.max(-largestCorrectionArcsec, Math.min(largestCorrectionArcsec, value));
  let sum = 0;
  return {
    correct(offsetArcsec) {
      const offset = Math.abs(offsetArcsec) <= deadZoneArcsec ? 0 : offsetArcsec;
      sum = limited(sum + integralGain * offset);
      const wanted = limited(proportionalGain * offset + sum);
      return Math.abs(wanted) < smallestCorrectionArcsec ? 0 : -wanted;
    },
  };
}
