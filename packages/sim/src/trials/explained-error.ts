/** Errors split into what follows known sums of a frame's noise and the rest. */
import { invertSymmetric } from '@holdfast/psf/numerics';
import { meanOf } from './statistics.ts';

/** The sums of the trials, `count` to each, and their covariance over all frames. */
export interface Controls {
  readonly count: number;
  readonly sums: Float64Array;
  readonly covariance: Float64Array;
}

export const noControls: Controls = {
  count: 0,
  sums: new Float64Array(0),
  covariance: new Float64Array(0),
};

/** Regression of errors on the sums, both with the mean of their group taken off. */
export interface Explained {
  readonly count: number;
  /** Change of the error per sum. */
  readonly slope: Float64Array;
  /** What is left of each error, and the share of it that the fit took away: 1 where nothing is left. */
  readonly rest: Float64Array;
  readonly leverage: Float64Array;
  /** S^-1 p of each trial, S the products of the sums p. */
  readonly pull: Float64Array;
  readonly inverse: Float64Array;
  /** Trials less the unknowns that were fitted to them. */
  readonly freedom: number;
}

/** A result, and what each trial adds to its error: the squares of these add up to its variance. */
export interface SumWithTerms {
  readonly value: number;
  readonly terms: Float64Array;
}

/** Of a trial that stands nearly alone in its group, the share that is taken to be left. */
const leastLeft = 0.1;

/** @param group  number of each trial's group, from 0 to less than `groups` */
export function explain(
  error: Float64Array,
  controls: Controls,
  group: Uint32Array,
  groups: number,
): Explained {
  const n = error.length;
  const members = new Float64Array(groups);
  for (let i = 0; i < n; i++) members[group[i]]++;
  const used = members.reduce((sum, value) => sum + (value > 0 ? 1 : 0), 0);
  const own = centered(error, 1, group, groups, members);
  const all = centered(controls.sums, controls.count, group, groups, members);
  let { count } = controls;
  let inverse: Float64Array | undefined;
  // Sums that say the same leave the products without an inverse: the last ones go.
  for (; count > 0; count--) {
    const products = new Float64Array(count * count);
    for (let i = 0; i < n; i++)
      for (let a = 0; a < count; a++)
        for (let b = 0; b < count; b++)
          products[a * count + b] += all[i * controls.count + a] * all[i * controls.count + b];
    inverse = invertSymmetric(products, count);
    if (inverse !== undefined) break;
  }
  inverse ??= new Float64Array(0);
  const pull = new Float64Array(n * count);
  const slope = new Float64Array(controls.count);
  const leverage = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    leverage[i] = 1 / members[group[i]];
    for (let a = 0; a < count; a++) {
      let sum = 0;
      for (let b = 0; b < count; b++) sum += inverse[a * count + b] * all[i * controls.count + b];
      pull[i * count + a] = sum;
      slope[a] += sum * own[i];
      leverage[i] += sum * all[i * controls.count + a];
    }
  }
  for (let i = 0; i < n; i++)
    for (let a = 0; a < count; a++) own[i] -= slope[a] * all[i * controls.count + a];
  return { count, slope, rest: own, leverage, pull, inverse, freedom: n - used - count };
}

/** Values less the mean of their group, `width` to each trial. */
function centered(
  values: Float64Array,
  width: number,
  group: Uint32Array,
  groups: number,
  members: Float64Array,
): Float64Array {
  const sums = new Float64Array(groups * width);
  for (let i = 0; i < group.length; i++)
    for (let a = 0; a < width; a++) sums[group[i] * width + a] += values[i * width + a];
  const out = new Float64Array(group.length * width);
  for (let i = 0; i < group.length; i++)
    for (let a = 0; a < width; a++)
      out[i * width + a] = values[i * width + a] - sums[group[i] * width + a] / members[group[i]];
  return out;
}

/**
 * Share of the errors' variance that the sums explain, by their own covariance: what chance did to the sums
 * is not in it, so whoever decides by it is not led by chance.
 */
export function explainedShare({ count, slope, rest, freedom }: Explained, controls: Controls): number {
  const known = through(controls, count, slope, 0);
  const squares = rest.reduce((sum, value) => sum + value * value, 0);
  return known > 0 && freedom > 0 ? known / (known + squares / freedom) : 0;
}

/** v' V v for the leading `count` of the sums. */
function through(
  { covariance, count: width }: Controls,
  count: number,
  v: Float64Array,
  from: number,
): number {
  let sum = 0;
  for (let a = 0; a < count; a++)
    for (let b = 0; b < count; b++) sum += v[from + a] * covariance[a * width + b] * v[from + b];
  return sum;
}

/**
 * Variance of errors e = b p + d about the mean of their group, p the sums of known covariance V:
 *
 *   s^2 = b' V b + sd^2 (1 - tr(V S^-1))
 *
 * b from the regression, sd^2 the variance of the rest. The last term takes off what the error of b adds on
 * average (regression estimator; textbook, Cochran 1977, Sampling Techniques, ch. 7, from memory). What is
 * left of its bias, and its error, come from the same result without each trial in turn (jackknife; the
 * regression without one trial has a closed form). Without sums this is the plain variance.
 */
export function scatterSquare(explained: Explained, controls: Controls): SumWithTerms {
  const { count, slope, rest, leverage, pull, inverse, freedom } = explained;
  const n = rest.length;
  const terms = new Float64Array(n);
  if (freedom < 2) return { value: 0, terms };
  const { covariance, count: width } = controls;
  let trace = 0;
  const carried = new Float64Array(count);
  for (let a = 0; a < count; a++)
    for (let b = 0; b < count; b++) {
      trace += covariance[a * width + b] * inverse[a * count + b];
      carried[a] += covariance[a * width + b] * slope[b];
    }
  const known = through(controls, count, slope, 0);
  const squares = rest.reduce((sum, value) => sum + value * value, 0);
  const square = known + (squares / freedom) * (1 - trace);
  let mean = 0;
  for (let i = 0; i < n; i++) {
    const left = 1 - leverage[i];
    // A trial alone in its group tells nothing.
    if (!(left > 1e-9)) terms[i] = square;
    else {
      const moved = rest[i] / left;
      let pulled = 0;
      for (let a = 0; a < count; a++) pulled += carried[a] * pull[i * count + a];
      const spread = through(controls, count, pull, i * count);
      terms[i] =
        known -
        2 * pulled * moved +
        spread * moved * moved +
        ((squares - rest[i] * moved) / (freedom - 1)) * (1 - trace - spread / left);
    }
    mean += terms[i] / n;
  }
  const scale = Math.sqrt((n - 1) / n);
  for (let i = 0; i < n; i++) terms[i] = scale * (mean - terms[i]);
  return { value: Math.max(0, n * square - (n - 1) * mean), terms };
}

/** Errors with what chance did to the sums taken off. */
export function withoutChance(
  error: Float64Array,
  { slope }: Explained,
  { count, sums }: Controls,
): Float64Array {
  return error.map((value, i) => {
    let rest = value;
    for (let a = 0; a < count; a++) rest -= slope[a] * sums[i * count + a];
    return rest;
  });
}

/**
 * Mean of the errors, and what each trial adds to its error: by what is left of it within its group, since
 * the groups are visited evenly, and by what it does to b.
 */
export function meanWithTerms(error: Float64Array, explained: Explained, controls: Controls): SumWithTerms {
  const { count, rest, leverage, pull } = explained;
  const n = error.length;
  const lean = new Float64Array(count);
  for (let a = 0; a < count; a++)
    for (let i = 0; i < n; i++) lean[a] += controls.sums[i * controls.count + a] / n;
  const terms = rest.map((value, i) => {
    let pulled = 0;
    for (let a = 0; a < count; a++) pulled += lean[a] * pull[i * count + a];
    return (value * (1 / n - pulled)) / Math.sqrt(Math.max(leastLeft, 1 - leverage[i]));
  });
  return { value: meanOf(withoutChance(error, explained, controls)).value, terms };
}

/**
 * Mean square of the errors, b' V b + mean((e - b p)^2): what the error of b adds to one it takes off the
 * other. Each trial moves it by its own rest and by what it does to b.
 */
export function meanSquare(
  error: Float64Array,
  explained: Explained,
  controls: Controls,
  group: Uint32Array,
  groups: number,
): SumWithTerms {
  const { count, slope, rest, leverage, pull } = explained;
  const n = error.length;
  const rests = withoutChance(error, explained, controls);
  const squares = rests.map((value) => value * value);
  const mean = squares.reduce((sum, value) => sum + value, 0) / n;
  const lean = new Float64Array(count);
  for (let a = 0; a < count; a++) {
    for (let b = 0; b < count; b++) lean[a] += 2 * controls.covariance[a * controls.count + b] * slope[b];
    for (let i = 0; i < n; i++) lean[a] -= (2 * controls.sums[i * controls.count + a] * rests[i]) / n;
  }
  const members = new Float64Array(groups);
  for (let i = 0; i < n; i++) members[group[i]]++;
  const terms = centered(squares, 1, group, groups, members);
  for (let i = 0; i < n; i++) {
    let pulled = 0;
    for (let a = 0; a < count; a++) pulled += lean[a] * pull[i * count + a];
    terms[i] = (terms[i] / n + pulled * rest[i]) / Math.max(leastLeft, 1 - leverage[i]);
  }
  return { value: through(controls, count, slope, 0) + mean, terms };
}
