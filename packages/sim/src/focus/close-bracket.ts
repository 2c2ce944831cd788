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
  if (!(inside.distanceUm > 0 && inside.ratio > 0 && outside.ratio < Infinity)) return middle;
  const part = -log(inside.ratio) / (log(outside.ratio) - log(inside.ratio));
  const expected = inside.distanceUm * exp(part * log(outside.distanceUm / inside.distanceUm));
  const isNearInside = expected < middle;
  const next = expected * (isNearInside ? 1 + step : 1 - step);
  return Math.min(outside.distanceUm - span / 10, Math.max(inside.distanceUm + span / 10, next));
}

/** A formula's limit is left when its bracket is so narrow, as a part of the distance. */
const formulaStep = 0.02;

/**
 * The distance at which a formula's ratio, which grows with it, passes 1, to 1 %. No step outwards more than
 * doubles the distance: wide rings take long.
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
    if (found.ratio > 1) outside = found;
    else inside = found;
    if (inside.distanceUm >= largestUm) return largestUm;
    if (outside === undefined) next = Math.min(largestUm, 2 * next);
    else {
      if (outside.distanceUm - inside.distanceUm <= formulaStep * outside.distanceUm) break;
      if (outside.distanceUm < 1e-3 * guessUm) return 0;
      next = insideBracket(inside, outside, formulaStep / 4);
    }
  }
  return 0.5 * (inside.distanceUm + outside.distanceUm);
}
