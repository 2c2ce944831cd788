/** Steps in the path of a sequence: all stars jump alike and stay, as a dither or a correction moves them. */
import { median, sigmaPerMedianDeviation } from '@holdfast/psf/numerics';
import type { Estimate } from '../../trials/statistics.ts';

/** A jump of all stars between two frames. */
export interface MotionStep {
  /** First frame after it: place in `frames`. */
  readonly frame: number;
  /** Its size along x, px; the error is the scatter of the path from frame to frame. */
  readonly x: Estimate;
  /** Along y, px. */
  readonly y: Estimate;
}

interface PathPoint {
  readonly frame: number;
  readonly x: number;
  readonly y: number;
}

/** A step is this many times the usual change from frame to frame: chance makes none in a million frames. */
const leastSigmas = 7;
/** And this share of it must be left over the frames after, against those before. */
const leastStay = 0.7;
/** So many frames on each side tell whether it stays: steps closer than this to one another are not told. */
const besides = 3;
/** Fewer frames do not tell what is usual. */
const leastPoints = 8;

export function findSteps(path: readonly PathPoint[]): MotionStep[] {
  if (path.length < leastPoints) return [];
  const changes = (of: (point: PathPoint) => number): { by: number[]; usual: number; middle: number } => {
    const by = path.slice(1).map((point, k) => of(point) - of(path[k]));
    const middle = median(by);
    return { by, middle, usual: sigmaPerMedianDeviation * median(by.map((one) => Math.abs(one - middle))) };
  };
  const x = changes((point) => point.x);
  const y = changes((point) => point.y);
  const candidates = x.by.flatMap((_, k) => {
    const far = Math.max(
      Math.abs(x.by[k] - x.middle) / (x.usual + 1e-12),
      Math.abs(y.by[k] - y.middle) / (y.usual + 1e-12),
    );
    return far > leastSigmas ? [k + 1] : [];
  });
  return candidates.flatMap((at): MotionStep[] => {
    // a single frame that jumps and comes back does not move the median of three
    const from = Math.max(0, at - besides);
    const to = Math.min(path.length, at + besides);
    const stays = (of: (point: PathPoint) => number): number =>
      median(path.slice(at, to).map(of)) - median(path.slice(from, at).map(of));
    const [dx, dy] = [x.by[at - 1] - x.middle, y.by[at - 1] - y.middle];
    const kept = stays((point) => point.x) * dx + stays((point) => point.y) * dy;
    if (kept < leastStay * (dx * dx + dy * dy)) return [];
    return [
      {
        frame: path[at].frame,
        x: { value: dx, standardError: x.usual },
        y: { value: dy, standardError: y.usual },
      },
    ];
  });
}

/** Each stretch between steps about its own mean, in place and in time: what moves within them is left. */
export function betweenSteps(
  path: readonly PathPoint[],
  steps: readonly MotionStep[],
  times: readonly number[],
): { readonly frame: number; readonly time: number; readonly x: number; readonly y: number }[] {
  const starts = [-Infinity, ...steps.map(({ frame }) => frame), Infinity];
  return starts.slice(1).flatMap((end, n) => {
    const stretch = path.filter(({ frame }) => frame >= starts[n] && frame < end);
    const mean = (of: (point: PathPoint) => number): number =>
      stretch.reduce((sum, point) => sum + of(point), 0) / Math.max(1, stretch.length);
    const [x0, y0, time0] = [mean(({ x }) => x), mean(({ y }) => y), mean(({ frame }) => times[frame])];
    return stretch.map(({ frame, x, y }) => ({ frame, time: times[frame] - time0, x: x - x0, y: y - y0 }));
  });
}
