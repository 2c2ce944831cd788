/**
 * Variances of what each star does alone, from what is left of its positions once the common motion is taken
 * off. With v_i the share of star i in the common motion of a frame, what is left is rest_i = e_i - sum_j v_j
 * e_j, so that
 *
 *   <rest_i^2> = (1 - v_i)^2 s_i^2 + sum over j other than i of v_j^2 s_j^2:
 *
 * as many equations as stars, of which three or more give each star's own variance s_i^2. Two stars share one
 * difference: it is then split as their stated errors are. One star has none.
 */

import { invertSymmetric } from '@holdfast/psf/numerics';
import type { Estimate } from '../../trials/statistics.ts';
import { type CommonMotion, frameFactors, type Track } from './common-motion.ts';

/** Normal equations of the differences between stars, summed over the frames. */
interface Sums {
  readonly design: Float64Array;
  readonly squares: Float64Array;
  readonly shares: readonly { readonly t: number; readonly v: Float64Array }[];
}

/** Undefined with fewer than two stars or three frames. */
function sumsOf(tracks: readonly Track[], { rests, starsSeen }: CommonMotion): Sums | undefined {
  const n = tracks.length;
  const weights = tracks.map(({ sigma }) => 1 / (sigma * sigma));
  const design = new Float64Array(n * n);
  const squares = new Float64Array(n);
  const shares: { readonly t: number; readonly v: Float64Array }[] = [];
  const factors = frameFactors(tracks, starsSeen.length);
  for (let t = 0; t < starsSeen.length; t++) {
    if (starsSeen[t] < 2) continue;
    const total = weights.reduce((sum, weight, i) => sum + (tracks[i].seen[t] ? weight : 0), 0);
    shares.push({
      t,
      v: Float64Array.from(weights, (weight, i) => (tracks[i].seen[t] ? weight / total : 0)),
    });
  }
  if (n < 2 || shares.length < 3) return undefined;
  for (let i = 0; i < n; i++) {
    const own = shares.filter(({ t }) => tracks[i].seen[t]);
    // a star's place was fitted, too
    const lost = own.length / Math.max(1, own.length - 1);
    for (const { t, v } of own) {
      // a clouded frame says less: all its variances are larger alike
      squares[i] += (rests[i][t] ** 2 * lost) / factors[t];
      for (let j = 0; j < n; j++) design[i * n + j] += i === j ? (1 - v[i]) ** 2 : v[j] ** 2;
    }
  }
  return { design, squares, shares };
}

/** Variances px^2 by star, each with its error; undefined with fewer than two stars or three frames. */
export function ownVariances(tracks: readonly Track[], motion: CommonMotion): Estimate[] | undefined {
  const sums = sumsOf(tracks, motion);
  if (sums === undefined) return undefined;
  return (tracks.length > 2 ? solved(sums, tracks) : undefined) ?? alike(sums, tracks);
}

/**
 * One factor by which all stars' variances exceed those stated: known better than that of any star alone.
 * Each star counts by its stated variance.
 */
export function commonFactor(tracks: readonly Track[], motion: CommonMotion): Estimate | undefined {
  const sums = sumsOf(tracks, motion);
  return sums && factorOf(sums, tracks);
}

function factorOf({ design, squares, shares }: Sums, tracks: readonly Track[]): Estimate {
  const n = tracks.length;
  let [measured, stated] = [0, 0];
  for (let i = 0; i < n; i++) {
    const weight = 1 / tracks[i].sigma ** 2;
    measured += weight * squares[i];
    for (let j = 0; j < n; j++) stated += weight * design[i * n + j] * tracks[j].sigma ** 2;
  }
  // of the stars seen on a frame one less is independent; a place was fitted for each star
  const differences = shares.reduce(
    (sum, { v }) => sum + v.reduce((seen, one) => seen + (one > 0 ? 1 : 0), -1),
    0,
  );
  const freedom = Math.max(1, differences - (n - 1));
  const value = measured / stated;
  return { value, standardError: value * Math.sqrt(2 / freedom) };
}

/** All stars' variances in proportion to those stated. */
function alike(sums: Sums, tracks: readonly Track[]): Estimate[] {
  const { value, standardError } = factorOf(sums, tracks);
  return tracks.map(({ sigma }) => ({
    value: value * sigma * sigma,
    standardError: standardError * sigma * sigma,
  }));
}

/** Undefined when the equations do not tell the stars apart. */
function solved({ design, squares, shares }: Sums, tracks: readonly Track[]): Estimate[] | undefined {
  const n = tracks.length;
  const normal = new Float64Array(n * n);
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++)
      for (let k = 0; k < n; k++) normal[i * n + j] += design[k * n + i] * design[k * n + j];
  const inverse = invertSymmetric(normal, n);
  if (inverse === undefined) return undefined;
  // inverse of the design: (A^T A)^-1 A^T
  const back = new Float64Array(n * n);
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++)
      for (let k = 0; k < n; k++) back[i * n + j] += inverse[i * n + k] * design[j * n + k];
  const variance = new Float64Array(n);
  for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) variance[i] += back[i * n + j] * squares[j];

  // sums of squares of normal numbers: cov = 2 sum over frames of cov(rest_i, rest_j)^2
  const spread = new Float64Array(n * n);
  const positive = variance.map((value, i) => Math.max(value, 0.01 * tracks[i].sigma ** 2));
  for (const { t, v } of shares)
    for (let i = 0; i < n; i++)
      for (let j = 0; j < n; j++) {
        if (!tracks[i].seen[t] || !tracks[j].seen[t]) continue;
        let shared = 0;
        for (let k = 0; k < n; k++)
          shared += ((i === k ? 1 : 0) - v[k]) * ((j === k ? 1 : 0) - v[k]) * positive[k];
        spread[i * n + j] += 2 * shared * shared;
      }
  return tracks.map((_, i) => {
    let square = 0;
    for (let j = 0; j < n; j++)
      for (let k = 0; k < n; k++) square += back[i * n + j] * spread[j * n + k] * back[i * n + k];
    return { value: variance[i], standardError: Math.sqrt(square) };
  });
}
