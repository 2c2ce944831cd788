/** What a sequence comes to, from the measures of its frames. */
import { type EstimatorName, estimatorNames } from '../../rig/rig-schema.ts';
import type { Estimate } from '../../trials/statistics.ts';
import type { FrameFailure } from '../files/frame-image.ts';
import type { MeasuredStar } from '../stars/measured-star.ts';
import { type FocusDrift, focusDrift } from './sequence-focus.ts';
import { type FrameOrder, orderFrames } from './sequence-order.ts';
import type { SequenceFrameRecord, TrackPoint } from './sequence-records.ts';
import { type EstimatorSplit, splitMotion } from './sequence-split.ts';
import { transparencyOf } from './transparency.ts';

/** One star over the whole sequence. */
export interface SequenceStar {
  /** Where it is on average, px of the frame; by the center of mass. */
  readonly x: number;
  /** The same along y, px. */
  readonly y: number;
  /** Frames that show it. */
  readonly framesSeen: number;
  /** Mean over the frames, and its scatter: clouds show here. */
  readonly fluxE: Estimate;
  /** Scatter of its light from frame to frame, electrons. */
  readonly fluxScatterE: number;
  /** Its positions by each estimator. */
  readonly positions: Readonly<Record<EstimatorName, readonly TrackPoint[]>>;
}

/** A frame that could not be used. */
export interface SequenceFailure {
  /** Name as given. */
  readonly name: string;
  /** Why, as a word for programs. */
  readonly reason: FrameFailure['reason'] | 'other-size' | 'no-star' | 'too-faint';
  /** Why, with its numbers, for a person to read. */
  readonly message: string;
}

/** What a sequence comes to. */
export interface SequenceResult {
  /** In the order of time, those that showed at least one of the stars. */
  readonly frames: readonly SequenceFrameRecord[];
  /** Frames that could not be used. */
  readonly failed: readonly SequenceFailure[];
  /** How the frames follow one another in time. */
  readonly order: Pick<FrameOrder, 'timed' | 'intervalS' | 'outOfOrder' | 'sameTime' | 'gaps'>;
  /** The stars that were followed, the brightest first. */
  readonly stars: readonly SequenceStar[];
  /** By estimator: motion that all stars share, and noise of each. Undefined with fewer than three frames. */
  readonly split: Readonly<Record<EstimatorName, EstimatorSplit | undefined>>;
  /**
   * The focus against time, by the rings of the brightest star; undefined when fewer than three frames show
   * one.
   */
  readonly focus: FocusDrift | undefined;
  /** Bytes of files that were read. */
  readonly bytes: number;
  /** Time that reading and measuring took, s. */
  readonly seconds: number;
  /** 10^6 bytes of files for each second of reading and measuring. */
  readonly megabytesPerS: number;
}

/** The measures of one frame, as it came. */
export interface TakenFrame {
  readonly name: string;
  readonly timeS: number | undefined;
  readonly stars: readonly (MeasuredStar | undefined)[];
  readonly searched: boolean;
  readonly focuserPosition?: number;
}

export function sequenceTold(
  taken: readonly TakenFrame[],
): Omit<SequenceResult, 'failed' | 'bytes' | 'seconds' | 'megabytesPerS'> {
  const order = orderFrames(taken.map(({ timeS }) => timeS));
  const inOrder = order.order.map((k) => taken[k]);
  const { timed, intervalS, outOfOrder, sameTime, gaps } = order;
  const stars = Array.from({ length: taken[0]?.stars.length ?? 0 }, (_, k) =>
    starOf(inOrder.map((frame) => frame.stars[k])),
  );
  const transparency = transparencyOf(
    stars.map((_, k) => inOrder.map((frame) => frame.stars[k]?.light?.fluxE)),
  );
  const records = inOrder.map((frame, k) => recordOf(frame, order.times[k], transparency[k]));
  const clock = { times: order.times, timed };
  const split = Object.fromEntries(
    estimatorNames.map((name) => [
      name,
      splitMotion(
        stars.map(({ positions }) => positions[name]),
        clock,
      ),
    ]),
  ) as Record<EstimatorName, EstimatorSplit | undefined>;
  return {
    frames: records,
    order: { timed, intervalS, outOfOrder, sameTime, gaps },
    stars,
    split,
    focus: focusDrift(records, timed),
  };
}

function recordOf(
  { name, stars, searched, focuserPosition }: TakenFrame,
  time: number,
  transparency: Estimate | undefined,
): SequenceFrameRecord {
  const seen = stars.filter((star) => star !== undefined);
  const { light, ring } = seen[0];
  return {
    name,
    time,
    starsSeen: seen.length,
    searched,
    ...(transparency === undefined ? {} : { transparency }),
    ...(light === undefined ? {} : { halfFluxDiameterPx: light.halfFluxDiameterPx }),
    ...(ring.ok ? { ringDiameterPx: ring.outerDiameterPx } : {}),
    ...(ring.ok && ring.holeResolved ? { obstructionRatio: ring.obstructionRatio } : {}),
    ...(ring.ok && ring.absFocusShiftUm !== undefined ? { absFocusShiftUm: ring.absFocusShiftUm } : {}),
    ...(focuserPosition === undefined ? {} : { focuserPosition }),
  };
}

function starOf(measured: readonly (MeasuredStar | undefined)[]): SequenceStar {
  const seen = measured.flatMap((star, frame) => (star === undefined ? [] : [{ star, frame }]));
  const positions = Object.fromEntries(
    estimatorNames.map((name) => [
      name,
      seen.flatMap(({ star, frame }) => {
        const found = star.positions[name];
        if (!found.ok || found.sigmaX === undefined || found.sigmaY === undefined) return [];
        const { x, y, sigmaX, sigmaY } = found;
        return [{ frame, x, y, sigmaX, sigmaY }];
      }),
    ]),
  ) as unknown as Record<EstimatorName, readonly TrackPoint[]>;
  const mean = (values: readonly number[]) =>
    values.reduce((sum, v) => sum + v, 0) / Math.max(1, values.length);
  const fluxes = seen.map(({ star }) => star.light?.fluxE.value ?? 0);
  const flux = mean(fluxes);
  const scatter = Math.sqrt(
    fluxes.reduce((sum, one) => sum + (one - flux) ** 2, 0) / Math.max(1, fluxes.length - 1),
  );
  return {
    x: mean(positions.centerOfMass.map(({ x }) => x)),
    y: mean(positions.centerOfMass.map(({ y }) => y)),
    framesSeen: seen.length,
    fluxE: { value: flux, standardError: scatter / Math.sqrt(Math.max(1, fluxes.length)) },
    fluxScatterE: scatter,
    positions,
  };
}
