/** What runs with and without their events come to. */
import { type Estimate, fractionOf, type Interval } from '../trials/statistics.ts';
import type { TrackSpan } from './tracking-events.ts';
import { frameStates } from './tracking-guide.ts';
import type { TrackPlan } from './tracking-options.ts';
import { type PictureSpan, type PictureStar, pictureSpans, prepareStarOfTrack } from './tracking-picture.ts';
import type { TrackSeries } from './tracking-run.ts';
import {
  type AxisErrors,
  axisErrors,
  meanOfRuns,
  type Offset,
  offsetOf,
  stretchOf,
} from './tracking-statistics.ts';

/**
 * One run and, when there are events, the same run without them: same mount, wind, air and streams of noise.
 */
export interface TrackPair {
  readonly track: TrackSeries;
  readonly without?: TrackSeries;
}

/** One event over all runs. */
export interface EventEffect extends TrackSpan {
  /** From the start to the end of the event. */
  readonly during: AxisErrors;
  /** The same time in the run without events. */
  readonly duringWithout: AxisErrors;
  /** From the end to the next event, the end of the run, or 120 s later, whichever comes first. */
  readonly after: AxisErrors;
  /** The same time in the run without events. */
  readonly afterWithout: AxisErrors;
  /** Time from the start of the event without a correction, because the loop held or found no star, s. */
  readonly withoutCorrectionS: Estimate;
  /**
   * Time from the end of the event until both axes are first within twice their rms without events of where
   * they settle, s. A run that does not get there counts with the whole time that it had.
   */
  readonly recoveryS: Estimate;
  /** Runs that do not get there. */
  readonly unrecoveredRuns: number;
  /** Position error when the event ended. */
  readonly offsetOnResume: Offset;
  /**
   * Offset that stays: mean difference from the run without events over the second half of the time after.
   */
  readonly offsetLeft: Offset;
}

/** One exposure of the main camera over all runs. */
export interface PictureEffect extends PictureSpan {
  /** Growth of its stars by the position error, %. */
  readonly growthPercent: Estimate;
  /** The longer over the shorter axis of its stars. */
  readonly elongation: Estimate;
  /** The same without events, and what the events add; absent when there are none. */
  readonly without?: { readonly growthPercent: Estimate; readonly elongation: Estimate };
  /** What of both the events add. */
  readonly added?: { readonly growthPercent: Estimate; readonly elongation: Estimate };
}

/** The numbers of all runs. */
export interface TrackNumbers {
  /** Position error over the whole time. */
  readonly position: AxisErrors;
  /** The same without events; absent when there are none. */
  readonly positionWithout?: AxisErrors;
  /** Share of guide frames without a position, held ones left out, with 95 % interval. */
  readonly lostFraction: Interval;
  /** Time of a run in which the loop held or found no star, s. */
  readonly withoutCorrectionS: Estimate;
  /** What each event does. */
  readonly events: readonly EventEffect[];
  /** What becomes of each exposure of the picture. */
  readonly picture: readonly PictureEffect[];
}

const afterS = 120;
const [corrected, , lost] = frameStates.map((_, i) => i);

export function reportTracking(plan: TrackPlan, pairs: readonly TrackPair[]): TrackNumbers {
  const whole = (series: TrackSeries) => stretchOf(series.errorX, series.errorY, 0, series.errorX.length);
  const twins = pairs.flatMap(({ without }) => without ?? []);
  const positionWithout = twins.length > 0 ? axisErrors(twins.map(whole)) : undefined;
  let lostFrames = 0;
  let triedFrames = 0;
  for (const { track } of pairs)
    for (const state of track.frames.state) {
      if (state === lost) lostFrames++;
      if (state === lost || state === corrected) triedFrames++;
    }
  const { spans } = plan.timeline;
  return {
    position: axisErrors(pairs.map(({ track }) => whole(track))),
    ...(positionWithout ? { positionWithout } : {}),
    lostFraction: triedFrames > 0 ? fractionOf(lostFrames, triedFrames) : { value: 0, low: 0, high: 1 },
    withoutCorrectionS: meanOfRuns(pairs.map(({ track }) => uncorrectedS(track, 0, plan.durationS))),
    events:
      positionWithout === undefined
        ? []
        : spans.map((span, i) => eventEffect(plan, pairs, span, spans[i + 1], positionWithout)),
    picture: pictureEffects(plan, pairs),
  };
}

function eventEffect(
  { stepS, durationS }: TrackPlan,
  pairs: readonly TrackPair[],
  span: TrackSpan,
  next: TrackSpan | undefined,
  steady: AxisErrors,
): EventEffect {
  const untilS = Math.min(span.endS + afterS, next?.startS ?? durationS);
  const at = (timeS: number) => Math.min(Math.round(timeS / stepS), Math.round(durationS / stepS));
  const [start, end, until] = [at(span.startS), at(span.endS), at(untilS)];
  const over = (from: number, to: number, pick: (pair: TrackPair) => TrackSeries) =>
    axisErrors(
      pairs.map((pair) => {
        const { errorX, errorY } = pick(pair);
        return stretchOf(errorX, errorY, from, to);
      }),
    );
  const withEvents = ({ track }: TrackPair) => track;
  const withoutEvents = ({ track, without }: TrackPair) => without ?? track;
  const left = pairs.map(({ track, without = track }) => ({
    x: meanDifference(track.errorX, without.errorX, (end + until) >> 1, until),
    y: meanDifference(track.errorY, without.errorY, (end + until) >> 1, until),
  }));
  const recovered = pairs.map(({ track }, run) =>
    firstWithin(track, end, until, left[run], 2 * steady.rmsX.value, 2 * steady.rmsY.value),
  );
  const last = Math.max(0, Math.min(end, Math.round(durationS / stepS) - 1));
  return {
    ...span,
    during: over(start, end, withEvents),
    duringWithout: over(start, end, withoutEvents),
    after: over(end, until, withEvents),
    afterWithout: over(end, until, withoutEvents),
    withoutCorrectionS: meanOfRuns(pairs.map(({ track }) => uncorrectedS(track, span.startS, untilS))),
    recoveryS: meanOfRuns(recovered.map((step) => stepS * ((step ?? until) - end))),
    unrecoveredRuns: recovered.filter((step) => step === undefined).length,
    offsetOnResume: offsetOf(pairs.map(({ track }) => ({ x: track.errorX[last], y: track.errorY[last] }))),
    offsetLeft: offsetOf(left),
  };
}

/** Time between two moments that belongs to frames which gave no correction. */
function uncorrectedS({ frames }: TrackSeries, fromS: number, toS: number): number {
  let count = 0;
  for (let i = 0; i < frames.state.length; i++) {
    const timeS = frames.firstS + i * frames.intervalS;
    // A frame counts where its exposure ends: that is when its correction would come.
    const endS = timeS + frames.exposureS;
    if (endS > fromS && endS <= toS && frames.state[i] !== corrected) count++;
  }
  return count * frames.intervalS;
}

function meanDifference(a: Float64Array, b: Float64Array, from: number, to: number): number {
  let sum = 0;
  for (let i = from; i < to; i++) sum += a[i] - b[i];
  return to > from ? sum / (to - from) : 0;
}

function firstWithin(
  { errorX, errorY }: TrackSeries,
  from: number,
  to: number,
  middle: { readonly x: number; readonly y: number },
  farthestX: number,
  farthestY: number,
): number | undefined {
  for (let i = from; i < to; i++)
    if (Math.abs(errorX[i] - middle.x) <= farthestX && Math.abs(errorY[i] - middle.y) <= farthestY) return i;
  return undefined;
}

function pictureEffects(plan: TrackPlan, pairs: readonly TrackPair[]): PictureEffect[] {
  const starOf = prepareStarOfTrack(plan.rig, plan.scene.seeingFwhmArcsec);
  return pictureSpans(plan.picture, plan.timeline.spans, plan.durationS).map((span) => {
    const stars = pairs.map(({ track }) => starOf(track, span));
    const twins = pairs.flatMap(({ without }) => (without ? [starOf(without, span)] : []));
    const over = (list: readonly PictureStar[]) => ({
      growthPercent: meanOfRuns(list.map((star) => star.growthPercent)),
      elongation: meanOfRuns(list.map((star) => star.elongation)),
    });
    if (twins.length === 0) return { ...span, ...over(stars) };
    return {
      ...span,
      ...over(stars),
      without: over(twins),
      added: over(
        stars.map((star, run) => ({
          ...star,
          growthPercent: star.growthPercent - twins[run].growthPercent,
          elongation: star.elongation - twins[run].elongation,
        })),
      ),
    };
  });
}
