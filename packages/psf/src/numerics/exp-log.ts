/**
 * Exponential and logarithm with the same last bit in every engine: only + - * / and reads of a number's own
 * bits.
 *
 * Math.exp and Math.log are left to the engine: two releases of one engine were seen to differ in the last
 * bit of 7 to 10 % of their values. Where a value only decides something (accept or reject), that cannot be
 * noticed and Math.* is as good; where the value itself is handed on, use these. Both are right within 2
 * units of the last place.
 */

/** ln 2 in two parts: a multiple of 2^-32, so that whole multiples below 2^21 are exact, and what is left. */
const ln2High = 2977044471 / 2 ** 32;
const ln2Low = 1.9082149292705877e-10;

/** 2^-1074 to 2^1023. */
const powersOfTwo = new Float64Array(2098);
for (let i = 0, power = Number.MIN_VALUE; i < 2098; i++, power *= 2) powersOfTwo[i] = power;

/**
 * e^x. Reduced to |r| <= ln 2 / 2, where the series to r^13 / 13! leaves out less than 5e-18.
 * 0 below -745.14, Infinity above 709.78, NaN for NaN.
 */
export function exp(x: number): number {
  if (!(x > -745.2)) return x <= -745.2 ? 0 : Number.NaN;
  if (x > 709.79) return Infinity;
  const k = Math.floor(x * Math.LOG2E + 0.5);
  const r = x - k * ln2High - k * ln2Low;
  const s = r * r;
  // Even and odd powers are two chains that a processor works through side by side.
  const even = 1 / 2 + s * (1 / 24 + s * (1 / 720 + s * (1 / 40320 + s * (1 / 3628800 + s / 479001600))));
  const odd = 1 / 6 + s * (1 / 120 + s * (1 / 5040 + s * (1 / 362880 + s * (1 / 39916800 + s / 6227020800))));
  const y = 1 + (r + s * (even + r * odd));
  // 2^1024 is no number, and below 2^-1022 numbers lose bits: there go in two steps, of which only the last
  // rounds.
  if (k > 1023) return y * powersOfTwo[k + 1073] * 2;
  if (k < -1022) return y * powersOfTwo[k + 1174] * 2 ** -100;
  return y * powersOfTwo[k + 1074];
}

const value = new Float64Array(1);
const words = new Uint32Array(value.buffer);
const highWord = new Uint8Array(new Float64Array([1]).buffer)[7] === 0x3f ? 1 : 0;

/**
 * Natural logarithm. x = 2^k m with m from sqrt(1/2) to sqrt 2, and ln m = 2 artanh s, s = (m - 1) / (m + 1);
 * the series to s^23 leaves out less than 1e-18. -Infinity at 0, NaN below, Infinity at Infinity.
 */
export function log(x: number): number {
  if (!(x > 0 && x < Infinity)) return x === 0 ? -Infinity : x > 0 ? x : Number.NaN;
  const tiny = x < 2 ** -1022;
  const normal = tiny ? x * 2 ** 54 : x;
  value[0] = normal;
  let k = (words[highWord] >>> 20) - 1023;
  // Multiplying is faster than writing the exponent: a load right after a store to half of its word has to
  // wait.
  let m = normal * powersOfTwo[1074 - k];
  if (m > Math.SQRT2) {
    m *= 0.5;
    k++;
  }
  if (tiny) k -= 54;
  const f = m - 1;
  const s = f / (2 + f);
  const z = s * s;
  const w = z * z;
  const odd = 1 / 3 + w * (1 / 7 + w * (1 / 11 + w * (1 / 15 + w * (1 / 19 + w / 23))));
  const even = 1 / 5 + w * (1 / 9 + w * (1 / 13 + w * (1 / 17 + w / 21)));
  // 2 s = f - s f leaves f itself exact, which is nearly all of the answer.
  const fraction = f - s * (f - 2 * (z * (odd + z * even)));
  return k * ln2High + (fraction + k * ln2Low);
}
