/** The frames of a sequence in the order in which they were taken, and what is missing between them. */

import { kthSmallest } from '@holdfast/psf/numerics';

export interface FrameOrder {
  /** Places in the list given, in the order of time. */
  readonly order: readonly number[];
  /** Seconds since the first frame, in that order; frame numbers where times are not known. */
  readonly times: readonly number[];
  /** Whether `times` are seconds. */
  readonly timed: boolean;
  /** Frames that came after one that was taken later. */
  readonly outOfOrder: number;
  /** Frames whose time is that of the frame before. */
  readonly sameTime: number;
  /** Median time from frame to frame, s; 1 where times are not known. */
  readonly intervalS: number;
  /** Where at least one frame is missing: after which place in the order, and about how many. */
  readonly gaps: readonly { readonly after: number; readonly missing: number }[];
}

/** An interval this many times the median lacks a frame. */
const gapFrom = 1.5;

/** @param times  s of any clock, in the order in which the frames came; undefined where not known */
export function orderFrames(times: readonly (number | undefined)[]): FrameOrder {
  const known = times.filter((time) => time !== undefined);
  if (known.length < times.length || times.length === 0)
    return {
      order: times.map((_, k) => k),
      times: times.map((_, k) => k),
      timed: false,
      outOfOrder: 0,
      sameTime: 0,
      intervalS: 1,
      gaps: [],
    };
  // sort is stable: frames of one time stay as they came
  const order = times.map((_, k) => k).sort((a, b) => known[a] - known[b]);
  const sorted = order.map((k) => known[k] - known[order[0]]);
  const steps = sorted.slice(1).map((time, k) => time - sorted[k]);
  const advancing = steps.filter((step) => step > 0);
  const intervalS = advancing.length === 0 ? 0 : kthSmallest(advancing, (advancing.length - 1) >> 1);
  const gaps = steps
    .map((step, after) => ({ after, missing: Math.round(step / intervalS) - 1, step }))
    .filter(({ step }) => intervalS > 0 && step > gapFrom * intervalS)
    .map(({ after, missing }) => ({ after, missing }));
  return {
    order,
    times: sorted,
    timed: true,
    outOfOrder: known.filter((time, k) => k > 0 && time < known[k - 1]).length,
    sameTime: steps.filter((step) => step === 0).length,
    intervalS,
    gaps,
  };
}
