/** How the focus moves over a sequence. */

import { fitLine, kthSmallest, scaledByScatter } from '@holdfast/psf/numerics';
import type { Estimate } from '../../trials/statistics.ts';
import type { SequenceFrameRecord } from './sequence-records.ts';

/** How the focus moves over a sequence. */
export interface FocusDrift {
  /** Frames that show a ring. */
  readonly frames: number;
  /**
   * Size of the focus shift in the middle of the sequence, um. Its error is that of one ring: uneven light
   * does not average out.
   */
  readonly absFocusShiftUm: Estimate;
  /**
   * Growth of that size with time, um per hour, by a straight line; its error from the scatter of the frames
   * about it. The side of focus is not known: a size that grows may be a focus that falls. Absent where times
   * are not known.
   */
  readonly umPerHour?: Estimate;
  /** The same per frame. */
  readonly umPerFrame: Estimate;
  /** Scatter of the frames about the line, um. */
  readonly scatterUm: number;
}

const leastFrames = 3;

export function focusDrift(records: readonly SequenceFrameRecord[], timed: boolean): FocusDrift | undefined {
  const shifts = records.flatMap(({ absFocusShiftUm, time }, frame) =>
    absFocusShiftUm === undefined ? [] : [{ ...absFocusShiftUm, time, frame }],
  );
  const line = (xOf: (shift: (typeof shifts)[number]) => number) => {
    const fit = fitLine(
      shifts.map((shift) => ({ x: xOf(shift), y: shift.value, sigma: shift.standardError })),
    );
    return fit && scaledByScatter(fit);
  };
  const byFrame = line(({ frame }) => frame);
  if (byFrame === undefined || shifts.length < leastFrames) return undefined;
  const byTime = timed ? line(({ time }) => time / 3600) : undefined;
  const { slope, offset, x0 } = byFrame;
  const squares = shifts.reduce(
    (sum, { value, frame }) => sum + (value - offset.value - slope.value * (frame - x0)) ** 2,
    0,
  );
  const ring = kthSmallest(
    shifts.map(({ standardError }) => standardError),
    shifts.length >> 1,
  );
  return {
    frames: shifts.length,
    absFocusShiftUm: { value: offset.value, standardError: Math.max(ring, offset.standardError) },
    ...(byTime === undefined ? {} : { umPerHour: byTime.slope }),
    umPerFrame: slope,
    scatterUm: Math.sqrt(squares / (shifts.length - 2)),
  };
}
