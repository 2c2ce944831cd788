/** One axis of an estimator's positions over many frames, and what they come to. */
import {
  type Controls,
  type Explained,
  explain,
  explainedShare,
  meanSquare,
  meanWithTerms,
  noControls,
  type SumWithTerms,
  scatterSquare,
  withoutChance,
} from './explained-error.ts';
import { placeOf, places, roundSize } from './simulated-frames.ts';
import { type Estimate, rootOf, Slope } from './statistics.ts';

/** Chance is taken out where at least this share of the frames gave a position. */
const leastLocated = 0.99;

/** And where the sums explain at least this share of the variance: it then pays. */
const leastExplained = 0.5;

/** And of at least so many trials: of fewer the regression tells too little. */
const leastTrials = 3 * places;

/** The parts of the error along an axis, px. */
export interface AxisParts {
  readonly offset: Estimate;
  readonly scatter: Estimate;
  readonly pixelPhase: Estimate;
  readonly response: Estimate;
  /** Square of the scatter, px^2; and of it with chance left in. */
  readonly scatterSquare: SumWithTerms;
  readonly plainSquare: SumWithTerms;
  /** Square of scatter over response, px^2. */
  readonly noiseEquivalent: SumWithTerms;
  /** Mean square of measured less true position, px^2. */
  readonly meanSquare: SumWithTerms;
  /** Measured less true position of each located trial, what chance did taken off, px. */
  readonly withoutChance: Float64Array;
}

/** How the trials were run. */
export interface TallyRun {
  /** Numbers of the located trials. */
  readonly trial: Uint32Array;
  /** Side of the window, px. */
  readonly side: number;
  /** The estimator remembers the frames before: each round is a run of its own. */
  readonly remembers: boolean;
}

export class AxisTally {
  readonly #axis: 'x' | 'y';
  readonly #count: number;
  readonly #error: Float64Array;
  readonly #displaced: Float64Array;
  readonly #sums: Float64Array;
  readonly #covariance: Float64Array;
  readonly #lostSums: Float64Array;
  readonly #pairIndex: number[] = [];
  readonly #pairMoved: number[] = [];
  readonly #pairChange: number[] = [];
  readonly #pairSums: number[] = [];
  #located = 0;
  #lost = 0;

  /** @param count  known sums of a frame's noise along this axis */
  constructor(axis: 'x' | 'y', limit: number, count: number) {
    this.#axis = axis;
    this.#count = count;
    this.#error = new Float64Array(limit);
    this.#displaced = new Float64Array(limit);
    this.#sums = new Float64Array(limit * count);
    this.#covariance = new Float64Array(count * count);
    this.#lostSums = new Float64Array(count);
  }

  /** Measured less true position of each located trial, px. */
  get error(): Float64Array {
    return this.#error.subarray(0, this.#located);
  }

  /**
   * A located trial, with the known sums of its frame and their covariance, of both axes one after the other.
   *
   * @param displaced true position less middle of the window, px
   */
  add(error: number, displaced: number, sums: Float64Array, covariance: Float64Array): void {
    const n = this.#located++;
    this.#error[n] = error;
    this.#displaced[n] = displaced;
    const from = this.#from;
    for (let a = 0; a < this.#count; a++) this.#sums[n * this.#count + a] = sums[from + a];
    this.#see(covariance);
  }

  /** A frame without a position: what its sums were is missing from the rest. */
  lose(sums: Float64Array, covariance: Float64Array): void {
    this.#lost++;
    const count = this.#count;
    for (let a = 0; a < count; a++) {
      this.#lostSums[a] += sums[this.#from + a];
      for (let b = 0; b < count; b++)
        this.#covariance[a * count + b] -= sums[this.#from + a] * sums[this.#from + b];
    }
    this.#see(covariance);
  }

  /** The last located frame from both sides of the star: how far the window moved, and the position in it. */
  addPair(moved: number, change: number, sums: Float64Array): void {
    const last = this.#located - 1;
    this.#pairIndex.push(last);
    this.#pairMoved.push(moved);
    this.#pairChange.push(change);
    for (let a = 0; a < this.#count; a++)
      this.#pairSums.push(this.#sums[last * this.#count + a] - sums[this.#from + a]);
  }

  /** Adds the trials of another tally of the same frames' axis. */
  take(other: AxisTally): void {
    const n = this.#located;
    this.#error.set(other.error, n);
    this.#displaced.set(other.#displaced.subarray(0, other.#located), n);
    this.#sums.set(other.#sums.subarray(0, other.#located * this.#count), n * this.#count);
    this.#pairIndex.push(...other.#pairIndex.map((index) => index + n));
    this.#pairMoved.push(...other.#pairMoved);
    this.#pairChange.push(...other.#pairChange);
    this.#pairSums.push(...other.#pairSums);
    for (const [i, value] of other.#covariance.entries()) this.#covariance[i] += value;
    for (const [i, value] of other.#lostSums.entries()) this.#lostSums[i] += value;
    this.#located += other.#located;
    this.#lost += other.#lost;
  }

  /** Where this axis begins in sums of both. */
  get #from(): number {
    return this.#axis === 'x' ? 0 : this.#count;
  }

  #see(covariance: Float64Array): void {
    const from = this.#from * this.#count;
    for (let i = 0; i < this.#covariance.length; i++) this.#covariance[i] += covariance[from + i];
  }

  parts(run: TallyRun): AxisParts {
    const { error } = this;
    const n = this.#located;
    const place = run.trial.map((trial) => trial % places);
    let controls = this.#controls();
    let whole = explain(error, controls, place, places);
    if (controls.count > 0 && explainedShare(whole, controls) < leastExplained) {
      controls = noControls;
      whole = explain(error, controls, place, places);
    }
    const { terms, ...response } = this.#response(run, whole, controls);
    const left = error.map((value, i) => value - (response.value - 1) * this.#displaced[i]);
    // The set point of a template is where its run began: what a run has in common is no scatter.
    const still = run.remembers ? withoutRuns(left, 1, run.trial) : left;
    const stillControls = run.remembers
      ? {
          ...controls,
          sums: withoutRuns(controls.sums, controls.count, run.trial),
          covariance: controls.covariance.map((value) => value * (1 - 1 / roundSize)),
        }
      : controls;
    const explained = explain(still, stillControls, place, places);
    const square = gathered(scatterSquare(explained, stillControls), run, places);
    const plain = explain(still, noControls, place, places);
    const plainSquare =
      controls.count === 0 ? square : gathered(scatterSquare(plain, noControls), run, places);
    const rest = withoutChance(still, explained, stillControls);
    const sums = new Float64Array(places);
    const counts = new Float64Array(places);
    for (let i = 0; i < n; i++) {
      sums[place[i]] += rest[i];
      counts[place[i]]++;
    }
    // A star that stands still in its pixel stands off the middle of its window, too.
    for (let at = 0; at < places; at++) {
      const fromMiddle = ((placeOf(at)[this.#axis] + (run.side % 2 === 1 ? 0 : 0.5)) % 1) - 0.5;
      sums[at] += counts[at] * (response.value - 1) * fromMiddle;
    }
    const restSquares = explained.rest.reduce((sum, value) => sum + value * value, 0);
    return {
      offset: withError(
        gathered(meanWithTerms(left, explain(left, controls, place, places), controls), run, roundSize),
      ),
      scatter: rootOf(withError(square)),
      pixelPhase: pixelPhaseOf(sums, counts, Math.sqrt(restSquares / Math.max(1, explained.freedom))),
      response,
      scatterSquare: square,
      plainSquare,
      noiseEquivalent: overResponse(square, response.value, terms),
      meanSquare: gathered(meanSquare(error, whole, controls, place, places), run, roundSize),
      withoutChance: withoutChance(error, whole, controls),
    };
  }

  /** The sums of the located trials, their mean over all frames taken off. */
  #controls(): Controls {
    const n = this.#located;
    const count = this.#count;
    if (count === 0 || n < leastTrials || n < leastLocated * (n + this.#lost)) return noControls;
    // Over all frames the mean is 0: what the lost ones had is missing from the others.
    const mean = this.#lostSums.map((value) => -value / n);
    const sums = this.#sums.slice(0, n * count);
    for (let i = 0; i < sums.length; i++) sums[i] -= mean[i % count];
    const covariance = this.#covariance.map(
      (value, i) => value / n - mean[Math.floor(i / count)] * mean[i % count],
    );
    return { count, sums, covariance };
  }

  /**
   * From pairs; of a template that remembers from the regression of all its errors on the displacement.
   * `terms`: what each located trial adds to its error.
   */
  #response(
    { remembers }: TallyRun,
    explained: Explained,
    controls: Controls,
  ): Estimate & { readonly terms: Float64Array } {
    const line = new Slope();
    const terms = new Float64Array(this.#located);
    if (remembers)
      withoutChance(this.error, explained, controls).forEach((rest, i) => {
        line.add(this.#displaced[i], rest, i);
      });
    else
      for (const [k, moved] of this.#pairMoved.entries()) {
        let change = this.#pairChange[k];
        for (let a = 0; a < controls.count; a++)
          change -= explained.slope[a] * this.#pairSums[k * controls.count + a];
        line.add(moved, change, this.#pairIndex[k]);
      }
    if (line.count < 2) return { ...none, terms };
    const { value, standardError } = line.estimate(terms);
    return { value: 1 + value, standardError, terms };
  }
}

/** A square over that of the response, which has terms of its own. */
function overResponse({ value, terms }: SumWithTerms, response: number, own: Float64Array): SumWithTerms {
  const over = value / (response * response);
  // No third power by pow: engines differ in its last bit.
  return {
    value: over,
    terms: terms.map((term, i) => term / (response * response) - (2 * over * own[i]) / response),
  };
}

/** Mean of the squares of both axes, which err together. */
export function axesTogether(x: SumWithTerms, y: SumWithTerms): SumWithTerms {
  return {
    value: 0.5 * (x.value + y.value),
    terms: x.terms.map((term, i) => 0.5 * (term + y.terms[i])),
  };
}

/** A result with its standard error. */
export function withError({ value, terms }: SumWithTerms): Estimate {
  return { value, standardError: Math.sqrt(terms.reduce((sum, term) => sum + term * term, 0)) };
}

const none: Estimate = { value: 0, standardError: 0 };

/**
 * Of an estimator that remembers frames, the terms of `length` trials in a row as one: such trials err
 * together.
 */
function gathered(
  { value, terms }: SumWithTerms,
  { trial, remembers }: TallyRun,
  length: number,
): SumWithTerms {
  if (!remembers) return { value, terms };
  const out = new Float64Array(terms.length);
  let last = 0;
  let groups = 0;
  for (let i = 0; i < terms.length; i++) {
    if (i === 0 || Math.floor(trial[i] / length) !== Math.floor(trial[last] / length)) {
      last = i;
      groups++;
    }
    out[last] += terms[i];
  }
  const scale = Math.sqrt(groups / Math.max(1, groups - 1));
  return { value, terms: out.map((term) => scale * term) };
}

/** Values less the mean of their run, `width` to each trial. */
function withoutRuns(values: Float64Array, width: number, trial: Uint32Array): Float64Array {
  const out = Float64Array.from(values);
  for (let from = 0, to = 0; from < trial.length; from = to) {
    const run = Math.floor(trial[from] / roundSize);
    while (to < trial.length && Math.floor(trial[to] / roundSize) === run) to++;
    for (let a = 0; a < width; a++) {
      let sum = 0;
      for (let i = from; i < to; i++) sum += values[i * width + a];
      for (let i = from; i < to; i++) out[i * width + a] -= sum / (to - from);
    }
  }
  return out;
}

/** Rms over places of the mean there about the mean of all, with what scatter explains of it taken off. */
function pixelPhaseOf(sums: Float64Array, counts: Float64Array, scatter: number): Estimate {
  const used = [...counts.keys()].filter((place) => counts[place] > 0);
  if (used.length < 2) return none;
  const means = used.map((place) => sums[place] / counts[place]);
  const mean = means.reduce((a, b) => a + b, 0) / means.length;
  const spread = means.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (means.length - 1);
  const explained = used.reduce((sum, place) => sum + (scatter * scatter) / counts[place], 0) / used.length;
  const square = Math.max(0, spread - explained);
  // Of a variance from so many means, each with the noise that scatter gives it.
  const error = Math.sqrt((2 * explained * explained + 4 * square * explained) / (means.length - 1));
  const value = Math.sqrt(square);
  return { value, standardError: Math.sqrt(square + error) - value };
}
