/** Where on the curve of the spent budget the budget ends, on either side of focus. */

import type { Interval } from '../trials/statistics.ts';
import type { FocusCurve, ShareCurve } from './focus-curve.ts';
import { jackknifeInterval } from './jackknife.ts';

/** Focus shifts at which the budget is spent, um. */
export interface CurveLimits {
  /** Ahead of focus. */
  readonly before: Interval;
  readonly beyond: Interval;
}

/**
 * From focus, or from the best place where that is spent in focus, outwards to where the budget is spent; the
 * end of the curve where it is not.
 *
 * @returns undefined when the budget is spent everywhere
 */
export function curveLimits(
  { points, shareAt, without }: FocusCurve,
  resolutionUm: number,
): CurveLimits | undefined {
  const inFocus = shareAt(0) <= 1;
  const best = points.reduce((a, b) => (shareAt(b.focusShiftUm) < shareAt(a.focusShiftUm) ? b : a));
  const from = inFocus ? 0 : best.focusShiftUm;
  if (shareAt(from) > 1) return undefined;
  const ends = { before: points[0].focusShiftUm, beyond: points[points.length - 1].focusShiftUm };
  const limit = (end: number): Interval =>
    jackknifeInterval(
      crossing(shareAt, from, end),
      without.map((share) => crossing(share, from, end)),
      resolutionUm,
    );
  return { before: limit(ends.before), beyond: limit(ends.beyond) };
}

const crossingSteps = 400;

/** The first place from one shift toward another at which the share passes 1; the other when it does not. */
export function crossing(shareAt: ShareCurve, from: number, end: number): number {
  const step = (end - from) / crossingSteps;
  for (let i = 1; i <= crossingSteps; i++) {
    if (shareAt(from + i * step) <= 1) continue;
    let inside = from + (i - 1) * step;
    let outside = from + i * step;
    for (let k = 0; k < 40; k++) {
      const middle = 0.5 * (inside + outside);
      if (shareAt(middle) <= 1) inside = middle;
      else outside = middle;
    }
    return inside;
  }
  return end;
}
