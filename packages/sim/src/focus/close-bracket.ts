/** Closing in on the distance at which what is spent passes what is allowed. */
import { exp, log } from '@holdfast/psf/numerics';

/**
 * What is spent over what is allowed at a distance from focus, um. Infinity where nothing is known but that
 * it is too much.
 */
export interface RatioAt {
  readonly distanceUm: number;
  readonly ratio: number;
}

/**
 * The distance to try next between one within and one beyond the limit: the secant of logarithms, since
 * errors grow as powers of the distance; then a step across the place that is expected, so that both ends of
 * the bracket close in.
 *
 * @param step  part of the distance by which to step across
 */
export function insideBracket(inside: RatioAt, outside: RatioAt, step: number): number {
  const span = outside.distanceUm - inside.distanceUm;
  const middle = inside.distanceUm + 0.5 * span;
  const expected = expectedLimit(inside, outside)?.distanceUm;
  if (expected === undefined) return middle;
  const next = expected * (expected < middle ? 1 + step : 1 - step);
  return Math.min(outside.distanceUm - span / 10, Math.max(inside.distanceUm + span / 10, next));
}

/** Where a power of the distance through both passes 1; undefined where nothing tells. */
export function expectedLimit(
  near: RatioAt,
  far: RatioAt,
): { readonly distanceUm: number; readonly power: number } | undefined {
  if (!(near.distanceUm > 0 && near.ratio > 0 && far.ratio < Infinity && far.ratio > near.ratio))
    return undefined;
  const power = log(far.ratio / near.ratio) / log(far.distanceUm / near.distanceUm);
  return { distanceUm: near.distanceUm * exp(-log(near.ratio) / power), power };
}

/** A formula's limit is left when it is expected so near the last distance tried, as a part of it. */
const formulaStep = 0.01;

/**
 * The distance at which a formula's ratio, which grows with it, passes 1, to 1 %. Outwards it goes to where
 * the last two distances let it expect the limit, but never to more than twice the distance: wide rings take
 * long.
 */
export function lastWithin(
  largestUm: number,
  guessUm: number,
  ratio: (distanceUm: number) => number,
): number {
  if (!(ratio(0) <= 1)) return 0;
  let inside: RatioAt = { distanceUm: 0, ratio: 0 };
  let outside: RatioAt | undefined;
  let next = Math.min(largestUm, guessUm);
  for (;;) {
    const found = { distanceUm: next, ratio: ratio(next) };
    const before = inside;
    if (found.ratio > 1) outside = found;
    else inside = found;
    if (inside.distanceUm >= largestUm) return largestUm;
    if (outside === undefined) {
      const expected = expectedLimit(before, found)?.distanceUm ?? Infinity;
      next = Math.min(largestUm, 2 * next, Math.max(1.1 * next, expected));
      continue;
    }
    const expected = expectedLimit(inside, outside)?.distanceUm;
    const isNear = (um: number) => Math.abs(um - found.distanceUm) <= formulaStep * found.distanceUm;
    if (expected !== undefined && isNear(expected)) return expected;
    if (outside.distanceUm < 1e-3 * guessUm) return 0;
    next = insideBracket(inside, outside, formulaStep / 2);
    if (expected === undefined && isNear(next)) return next;
  }
}
