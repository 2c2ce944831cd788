/**
 * Reproducible chance. Every random number of the library comes from a stream that the caller names by a seed
 * and labels; streams of different names are independent. This is the only file that knows the generator.
 */
// @ts-expect-error: its types know all generators together alone, which weigh seven times as much.
import tycheiUntyped from 'seedrandom/lib/tychei.js';
import { drawNormal } from './normal.ts';
import { drawPoisson, maxPoissonMean } from './poisson.ts';
import { drawUniform, type RandomBits } from './uniform.ts';
import { createState, fillWords, nextWord, setState } from './xoshiro.ts';

const tychei: (seed: string) => { int32(): number } = tycheiUntyped;

/** A part of a stream's name. A number is the same as its decimal text: 7 and '7' name one stream. */
export type StreamLabel = string | number;

/** A sequence of random numbers with a name. The same name gives the same numbers on every machine. */
export interface RandomStream {
  /** A number in the open interval (0, 1): a multiple of 2^-53, never 0 and never 1. */
  uniform(): number;
  /** A normal number of mean 0 and standard deviation 1; the tails are exact. */
  normal(): number;
  /**
   * A Poisson count; the distribution is exact (Hoermann 1993 from a mean of 10 on, inversion below).
   *
   * @param mean  from 0 to 1e12
   * @throws RangeError if the mean is outside
   */
  poisson(mean: number): number;
  /** 32 random bits, as a signed whole number. */
  word(): number;
  /** Fill an array with words of 32 random bits, some 1 ns each: for loops that need thousands of them. */
  words(out: Int32Array): void;
  /**
   * The stream whose name is this one's with labels added. It does not depend on how many numbers were drawn
   * here, and asking twice for the same labels gives the same numbers twice: give each trial a label of its
   * own.
   */
  stream(...labels: StreamLabel[]): RandomStream;
}

/**
 * A stream of random numbers named by a seed and any labels.
 *
 * Labels keep their borders: ('a', 'b'), ('ab') and ('a/b') are three streams, while
 * `randomStream(1, 'a', 'b')` and `randomStream(1).stream('a').stream('b')` are one.
 *
 * ```ts
 * const trial = randomStream('my sweep', 'trial', 12)
 * const photons = trial.stream('photon').poisson(1.85)
 * const noise = trial.stream('read').normal()
 * ```
 * The generator is Tyche-i (Neves & Araujo 2011, "Fast and small nonlinear pseudorandom number generators for
 * computer simulation", PPAM 2011): 128 bits of state, mixed from the whole name; expected period 2^127.
 *
 * @throws TypeError or RangeError if the seed or a label is neither text nor a finite number
 */
export function randomStream(seed: StreamLabel, ...labels: StreamLabel[]): RandomStream {
  return new NamedStream(`[${joinLabels('seed', [seed, ...labels])}`);
}

/**
 * Streams by number, for loops that need one per trial: begun in some 12 ns where `randomStream` takes 640.
 * The stream of an index depends on seed, labels and index alone. One object serves for all: it is begun anew
 * with each call, so be done with one stream before you ask for the next.
 *
 * ```ts
 * const streamOf = numberedStreams('my sweep', 'trial')
 * for (let trial = 0; trial < 1000; trial++) console.log(streamOf(trial).poisson(1.85))
 * ```
 * The generator is xoshiro128** (Blackman & Vigna 2021), its state the numbers of the named stream changed by
 * a hash of the index.
 *
 * @returns the stream of an index, a whole number from 0 to 2^32 - 1 (not checked)
 * @throws TypeError or RangeError if the seed or a label is neither text nor a finite number
 */
export function numberedStreams(
  seed: StreamLabel,
  ...labels: StreamLabel[]
): (index: number) => RandomStream {
  const stream = new NumberedStream(`[${joinLabels('seed', [seed, ...labels])}`);
  return (index) => {
    stream.begin(index);
    return stream;
  };
}

/**
 * State of the generator of a stream by number, for those who draw words from it themselves; undefined for
 * any other stream.
 */
export const stateOf = (stream: RandomStream): Int32Array | undefined =>
  stream instanceof NumberedStream ? stream.state : undefined;

/** What a stream does with its random bits. */
abstract class BitStream implements RandomStream {
  protected abstract readonly bits: RandomBits;
  abstract words(out: Int32Array): void;
  abstract stream(...labels: StreamLabel[]): RandomStream;

  word(): number {
    return this.bits();
  }

  uniform(): number {
    return drawUniform(this.bits);
  }

  normal(): number {
    return drawNormal(this.bits);
  }

  poisson(mean: number): number {
    if (!(mean >= 0 && mean <= maxPoissonMean))
      throw new RangeError(`mean must be in [0, ${maxPoissonMean}], got ${mean}`);
    return drawPoisson(this.bits, mean);
  }
}

class NamedStream extends BitStream {
  readonly #name: string;
  protected readonly bits: RandomBits;

  /** @param name  the labels so far as an open JSON list, so that no two lists of labels give one text */
  constructor(name: string) {
    super();
    this.#name = name;
    // Of the package's generators this one is fast and gives independent streams from neighboring texts;
    // several of the others do not. It is seeded by text only: a number would fill just half of the state.
    this.bits = tychei(`${name}]`).int32;
  }

  words(out: Int32Array): void {
    const state = createState();
    for (let i = 0; i < 4; i++) state[i] = this.bits();
    if ((state[0] | state[1] | state[2] | state[3]) === 0) state[0] = 1;
    fillWords(out, state);
  }

  stream(...labels: StreamLabel[]): RandomStream {
    return new NamedStream(`${this.#name},${childLabels(labels)}`);
  }
}

class NumberedStream extends BitStream {
  readonly #name: string;
  readonly #key = new Int32Array(4);
  readonly state = createState();
  #index = 0;
  protected readonly bits: RandomBits;

  constructor(name: string) {
    super();
    this.#name = name;
    const named = tychei(`${name}]`);
    for (let i = 0; i < 4; i++) this.#key[i] = named.int32();
    const { state } = this;
    this.bits = () => nextWord(state);
  }

  begin(index: number): void {
    this.#index = index;
    setState(this.state, this.#key, index);
  }

  words(out: Int32Array): void {
    fillWords(out, this.state);
  }

  stream(...labels: StreamLabel[]): RandomStream {
    return new NamedStream(`${this.#name},${joinLabels('index', [this.#index])},${childLabels(labels)}`);
  }
}

function childLabels(labels: readonly StreamLabel[]): string {
  if (labels.length === 0) throw new RangeError('stream needs at least one label, got none');
  return joinLabels('label', labels);
}

function joinLabels(what: string, labels: readonly StreamLabel[]): string {
  return labels.map((label) => JSON.stringify(labelText(what, label))).join();
}

function labelText(what: string, label: StreamLabel): string {
  if (typeof label === 'string') return label;
  if (typeof label !== 'number')
    throw new TypeError(`${what} must be text or a finite number, got ${String(label)}`);
  if (!Number.isFinite(label)) throw new RangeError(`${what} must be text or a finite number, got ${label}`);
  return String(label);
}
