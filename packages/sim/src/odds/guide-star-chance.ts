/** From an expected number of stars to the odds of at least one and at least three. */
import { exp } from '@holdfast/psf/numerics';
import { type Interval, sigmas95 } from '../trials/statistics.ts';

/** The odds with so many fields to choose from. */
export interface GuideStarChance {
  /** Guide fields to choose from. */
  readonly positions: number;
  /** Usable stars in all of them, with the 95 % interval of the count's own uncertainty. */
  readonly expectedStars: Interval;
  /**
   * Probability of at least one usable star: Poisson, averaged over that uncertainty; the interval is between
   * its ends.
   */
  readonly atLeastOne: Interval;
  /** The same of at least three. */
  readonly atLeastThree: Interval;
}

/**
 * How many standard deviations of the count are averaged over, and in which steps: to 1e-8 of the
 * probability.
 */
const reach = 6;
const step = 0.25;

/**
 * Odds when a count that is known to a factor says `expected` stars:
 *
 *   P(>= k) = mean over f of the Poisson probability with mean expected * f,   ln f normal with mean 0 and deviation sigma
 *
 * @param positions  handed on
 * @param expected   stars in all positions together, >= 0
 * @param sigma      natural logarithm of the count's 1 sigma factor, >= 0; 0 for a count without uncertainty
 */
export function chanceOf(positions: number, expected: number, sigma: number): GuideStarChance {
  const scale = (z: number): number => expected * exp(sigma * z);
  const interval = (probability: (mean: number) => number): Interval => {
    let sum = 0;
    let weights = 0;
    for (let z = -reach; z <= reach; z += step) {
      const weight = exp(-0.5 * z * z);
      sum += weight * probability(scale(z));
      weights += weight;
    }
    return {
      value: sum / weights,
      low: probability(scale(-sigmas95)),
      high: probability(scale(sigmas95)),
    };
  };
  return {
    positions,
    expectedStars: { value: expected, low: scale(-sigmas95), high: scale(sigmas95) },
    atLeastOne: interval(atLeastOne),
    atLeastThree: interval(atLeastThree),
  };
}

const atLeastOne = (mean: number): number => 1 - exp(-mean);
const atLeastThree = (mean: number): number => Math.max(0, 1 - exp(-mean) * (1 + mean + (mean * mean) / 2));
