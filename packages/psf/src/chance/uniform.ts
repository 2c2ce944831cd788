/** The two smallest steps of chance: 32 random bits, and a uniform number made of two such draws. */

/** A source of random bits: each call gives 32 of them, as a signed 32-bit integer. */
export type RandomBits = () => number;

/**
 * A uniform number in the open interval (0, 1): the multiples k 2^-53 with 0 < k < 2^53, all equally likely.
 * Neither 0 nor 1 comes up, so its logarithm is always finite and below 0.
 */
export function drawUniform(bits: RandomBits): number {
  for (;;) {
    const high = bits() >>> 11; // 21 bits
    const low = bits() >>> 0; // 32 bits
    const u = (high + low * 2 ** -32) * 2 ** -21; // exact: 53 bits fill the significand
    if (u > 0) return u;
  }
}
