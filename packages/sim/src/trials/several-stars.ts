/** The position error when several stars are measured in each frame and their positions are averaged. */
import type { PositionError } from './error-tally.ts';
import { type Estimate, type Interval, scaled } from './statistics.ts';

/**
 * The error of the mean position of `stars` stars alike: what is random falls as 1 / sqrt(n), what is common to all of them
 * (the mean error) stays; a frame is lost only when every star is lost in it.
 *
 * @param stars  whole number >= 1
 * @throws RangeError when it is not
 */
export function errorOfSeveralStars(error: PositionError, stars: number): PositionError {
  if (!(Number.isInteger(stars) && stars >= 1 && stars <= 1e6))
    throw new RangeError(`stars must be a whole number from 1 to 1000000, got ${stars}`);
  const part = 1 / Math.sqrt(stars);
  const { estimator, trials, located, lostReasons, rmsPx, rmsArcsec, biasXPx, biasYPx } = error;
  const common = {
    estimator,
    ...(error.thresholdSigma === undefined ? {} : { thresholdSigma: error.thresholdSigma }),
    ...(error.radiusPx === undefined ? {} : { radiusPx: error.radiusPx }),
    trials,
    located,
    lostReasons,
    lostFraction: allLost(error.lostFraction, stars),
    boundPx: part * error.boundPx,
  };
  if (!rmsPx || !rmsArcsec || !biasXPx || !biasYPx || !error.scatterXPx || !error.scatterYPx) return common;
  // Its own noise takes part in the mean error of the trials: what that explains is not common to all stars.
  const explained = biasXPx.standardError ** 2 + biasYPx.standardError ** 2;
  const shared = Math.max(0, (biasXPx.value ** 2 + biasYPx.value ** 2 - explained) / 2);
  const random = Math.max(0, rmsPx.value ** 2 - shared);
  const value = Math.sqrt(shared + random / stars);
  const rms: Estimate = {
    value,
    standardError: value > 0 ? (rmsPx.value * rmsPx.standardError) / stars / value : 0,
  };
  return {
    ...common,
    biasXPx,
    biasYPx,
    scatterXPx: scaled(error.scatterXPx, part),
    scatterYPx: scaled(error.scatterYPx, part),
    rmsPx: rms,
    rmsArcsec: scaled(rms, rmsPx.value > 0 ? rmsArcsec.value / rmsPx.value : 0),
  };
}

function allLost({ value, low, high }: Interval, stars: number): Interval {
  return { value: value ** stars, low: low ** stars, high: high ** stars };
}
