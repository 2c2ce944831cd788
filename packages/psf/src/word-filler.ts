/**
 * Many random words at once: xoshiro128** of D. Blackman and S. Vigna 2021 ("Scrambled linear pseudorandom number
 * generators", ACM Trans. Math. Softw. 47, 36; the recurrence from memory), its state in local variables.
 */
import type { RandomBits } from './uniform.ts';

/** Fill `out` with words of 32 random bits. The 128 bits of the generator's first state are four words of `bits`. */
export function fillWords(out: Int32Array, bits: RandomBits): void {
  let s0 = bits();
  let s1 = bits();
  let s2 = bits();
  let s3 = bits();
  // The one state that stays as it is.
  if ((s0 | s1 | s2 | s3) === 0) s0 = 1;
  for (let i = 0; i < out.length; i++) {
    const five = Math.imul(s1, 5);
    out[i] = Math.imul((five << 7) | (five >>> 25), 9);
    const t = s1 << 9;
    s2 ^= s0;
    s3 ^= s1;
    s1 ^= s2;
    s0 ^= s3;
    s2 ^= t;
    s3 = (s3 << 11) | (s3 >>> 21);
  }
}
