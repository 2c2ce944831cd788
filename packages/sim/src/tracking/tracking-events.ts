/** What happens while the loop guides: focus runs, filter changes, a star that is gone for a while. */
import { requireFinite, requireNonNegative, requirePositive } from '@holdfast/psf/numerics';

/**
 * One thing that happens. Times in s from the start of the run, focus shifts as everywhere: at the guide
 * sensor, um.
 */
export type TrackEvent =
  | {
      /** The focuser visits some positions, and then goes to the one it chose. */
      readonly kind: 'focus-run';
      readonly startS: number;
      /** Focus shift at each position. */
      readonly shiftsUm: readonly number[];
      /** Time from the arrival at one position to the departure for the next, s. */
      readonly secondsEach: number;
      /** Focus shift at the end; it stays. */
      readonly endShiftUm: number;
      /** Time for a move, s. Default 1. */
      readonly moveS?: number;
    }
  | {
      /** No star for a while, then another focus shift. */
      readonly kind: 'filter-change';
      readonly startS: number;
      readonly withoutStarS: number;
      /** Focus shift with the new filter; it stays. */
      readonly focusShiftUm: number;
    }
  | {
      /** No star for a while: a cloud, a cable, a branch. */
      readonly kind: 'no-star';
      readonly startS: number;
      readonly durationS: number;
    };

/** An event with the time at which it is over. */
export interface TrackSpan {
  /** What happens. */
  readonly kind: TrackEvent['kind'];
  /** When it starts, s. */
  readonly startS: number;
  /** When it ends, s. */
  readonly endS: number;
}

/** The events as functions of time. */
export interface Timeline {
  /** In order of time. */
  readonly spans: readonly TrackSpan[];
  focusShiftUm(timeS: number): number;
  /** Share of the time between two moments in which there is a star. */
  starShare(fromS: number, toS: number): number;
  /** Whether an event, or `afterS` after its end, touches the time between two moments. */
  isInEvent(fromS: number, toS: number, afterS: number): boolean;
}

interface FocusPoint {
  readonly atS: number;
  readonly shiftUm: number;
}

/**
 * Events in order of time, checked.
 *
 * @param startShiftUm  focus shift before the first event, um
 * @param durationS     length of the run, s: every event must be over by then
 * @throws RangeError or TypeError naming the event and the field: negative times, events that overlap or end
 *   too late
 */
export function prepareTimeline(
  events: readonly TrackEvent[],
  startShiftUm: number,
  durationS: number,
): Timeline {
  const known = events.map((event, i) => ({
    event,
    name: `events[${i}]`,
    span: spanOf(event, `events[${i}]`),
  }));
  known.sort((a, b) => a.span.startS - b.span.startS);
  known.forEach(({ name, span }, i) => {
    if (span.endS > durationS)
      throw new RangeError(
        `${name} must be over by durationS = ${durationS} s, got an end at ${span.endS} s`,
      );
    const next = known[i + 1];
    if (next !== undefined && next.span.startS < span.endS)
      throw new RangeError(
        `${next.name} must not start before ${name} is over at ${span.endS} s, got startS = ${next.span.startS}`,
      );
  });
  const points: FocusPoint[] = [{ atS: Number.NEGATIVE_INFINITY, shiftUm: startShiftUm }];
  for (const { event } of known) points.push(...focusPath(event, points[points.length - 1].shiftUm));
  const dark = known.filter(({ event }) => event.kind !== 'focus-run').map(({ span }) => span);
  return {
    spans: known.map(({ span }) => span),
    focusShiftUm(timeS) {
      let i = points.length - 1;
      while (points[i].atS > timeS) i--;
      const from = points[i];
      const to = points[i + 1];
      if (to === undefined || to.shiftUm === from.shiftUm) return from.shiftUm;
      return from.shiftUm + ((to.shiftUm - from.shiftUm) * (timeS - from.atS)) / (to.atS - from.atS);
    },
    starShare(fromS, toS) {
      let share = 1;
      for (const { startS, endS } of dark)
        share -= Math.max(0, Math.min(toS, endS) - Math.max(fromS, startS)) / (toS - fromS);
      return Math.max(0, share);
    },
    isInEvent: (fromS, toS, afterS) =>
      known.some(({ span }) => toS > span.startS && fromS < span.endS + afterS),
  };
}

function spanOf(event: TrackEvent, name: string): TrackSpan {
  const { kind, startS } = event;
  requireNonNegative(`${name}.startS`, startS);
  switch (kind) {
    case 'focus-run': {
      if (!Array.isArray(event.shiftsUm) || event.shiftsUm.length === 0)
        throw new TypeError(`${name}.shiftsUm must be a list of at least one focus shift`);
      event.shiftsUm.forEach((shift, i) => {
        requireFinite(`${name}.shiftsUm[${i}]`, shift);
      });
      requireFinite(`${name}.endShiftUm`, event.endShiftUm);
      requirePositive(`${name}.secondsEach`, event.secondsEach);
      const moveS = requirePositive(`${name}.moveS`, event.moveS ?? 1);
      const positions = event.shiftsUm.length;
      return { kind, startS, endS: startS + positions * (moveS + event.secondsEach) + moveS };
    }
    case 'filter-change':
      requireFinite(`${name}.focusShiftUm`, event.focusShiftUm);
      return { kind, startS, endS: startS + requirePositive(`${name}.withoutStarS`, event.withoutStarS) };
    case 'no-star':
      return { kind, startS, endS: startS + requirePositive(`${name}.durationS`, event.durationS) };
    default:
      throw new TypeError(
        `${name}.kind must be 'focus-run', 'filter-change' or 'no-star', got ${JSON.stringify(kind)}`,
      );
  }
}

/** The focus as a line from point to point, from the shift before the event to the one that stays. */
function focusPath(event: TrackEvent, beforeUm: number): FocusPoint[] {
  const { startS } = event;
  switch (event.kind) {
    case 'focus-run': {
      const { moveS = 1, secondsEach, shiftsUm, endShiftUm } = event;
      const points: FocusPoint[] = [{ atS: startS, shiftUm: beforeUm }];
      let now = startS;
      for (const shiftUm of shiftsUm) {
        points.push({ atS: now + moveS, shiftUm }, { atS: now + moveS + secondsEach, shiftUm });
        now += moveS + secondsEach;
      }
      points.push({ atS: now + moveS, shiftUm: endShiftUm });
      return points;
    }
    case 'filter-change':
      return [
        { atS: startS, shiftUm: beforeUm },
        { atS: startS + event.withoutStarS, shiftUm: event.focusShiftUm },
      ];
    case 'no-star':
      return [];
  }
}
