/**
 * The generator xoshiro128** of D. Blackman and S. Vigna 2021 ("Scrambled linear pseudorandom number
 * generators", ACM Trans. Math. Softw. 47, 36; the recurrence from memory), for streams that are begun by the
 * million.
 */

/** 128 bits of state, not all of them 0. */
export const createState = (): Int32Array => Int32Array.of(1, 0, 0, 0);

/** The next 32 random bits. */
export function nextWord(state: Int32Array): number {
  const s1 = state[1];
  const five = Math.imul(s1, 5);
  const s2 = state[2] ^ state[0];
  const s3 = state[3] ^ s1;
  state[1] = s1 ^ s2;
  state[0] ^= s3;
  state[2] = s2 ^ (s1 << 9);
  state[3] = (s3 << 11) | (s3 >>> 21);
  return Math.imul((five << 7) | (five >>> 25), 9);
}

/** Fill `out` with random words: as often `nextWord`, with the state in local variables. */
export function fillWords(out: Int32Array, state: Int32Array): void {
  let [s0, s1, s2, s3] = state;
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
  state[0] = s0;
  state[1] = s1;
  state[2] = s2;
  state[3] = s3;
}

/**
 * A state for the `index`-th of many streams: each word of the key, changed by a hash of the index (the
 * finalizer of MurmurHash3 by A. Appleby, from memory). Different indices below 2^32 give different states.
 */
export function setState(state: Int32Array, key: Int32Array, index: number): void {
  for (let j = 0; j < 4; j++) state[j] = key[j] ^ hash(index + Math.imul(j + 1, 0x9e3779b9));
  if ((state[0] | state[1] | state[2] | state[3]) === 0) state[0] = 1;
}

function hash(value: number): number {
  let h = value | 0;
  h = Math.imul(h ^ (h >>> 16), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  return h ^ (h >>> 16);
}
