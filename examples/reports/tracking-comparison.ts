/** One event, guided through in several ways on the same air, wind and noise. */

import { arcsecPerRadian } from '@holdfast/psf/numerics';
import {
  type EstimatorName,
  type LongWorkOptions,
  type Rig,
  type TrackEvent,
  type TrackOptions,
  type TrackPolicy,
  type TrackResult,
  trackStar,
} from '@holdfast/sim';
import { UnusableInput } from './unusable-input.ts';

export const eventKinds = ['focus-run', 'filter-change', 'no-star', 'none'] as const;

/** What is asked. Times in s, focus shifts in um; undefined: as the rig says. */
export interface TrackingQuestion {
  readonly event: (typeof eventKinds)[number];
  readonly at: number;
  readonly span: number | undefined;
  readonly positions: number;
  readonly seconds: number;
  readonly filter: string | undefined;
  readonly duration: number;
  readonly exposure: number;
  readonly pause: boolean;
  readonly runs: number;
  readonly gain: number | undefined;
  readonly integral: number;
  /** Arcsec. */
  readonly deadZone: number;
  readonly delay: number | undefined;
  readonly estimator: EstimatorName | undefined;
  /** Radii of the aperture from its center. */
  readonly clip: number | undefined;
  readonly measurement: 'frames' | 'gaussian';
  readonly seed: string;
}

/** One way of guiding through the event. */
export interface GuidedWay {
  readonly name: string;
  readonly policy: TrackPolicy;
  readonly result: TrackResult;
}

export interface TrackingComparison {
  readonly rig: string;
  readonly event: TrackEvent | null;
  /** Without an event there is only one way. */
  readonly ways: readonly GuidedWay[];
}

const policies: readonly { readonly name: string; readonly policy: TrackPolicy }[] = [
  { name: 'pause, old set point', policy: { duringEvents: 'pause', resumeOn: 'old' } },
  { name: 'pause, new set point', policy: { duringEvents: 'pause', resumeOn: 'new' } },
  { name: 'carry on', policy: { duringEvents: 'carry-on' } },
];

/** @throws UnusableInput naming what cannot be used */
export async function compareWays(
  rig: Rig,
  asked: TrackingQuestion,
  { onProgress }: LongWorkOptions,
): Promise<TrackingComparison> {
  const event = eventOf(rig, asked);
  const star = {
    focusShiftUm: rig.guideFocusShiftUm,
    ...(asked.clip === undefined ? {} : { clipDistance: asked.clip }),
  };
  const options: TrackOptions = {
    seed: asked.seed,
    durationS: asked.duration,
    runs: asked.runs,
    star,
    loop: {
      proportionalGain: asked.gain ?? rig.tracking.proportionalGain,
      integralGain: asked.integral,
      deadZoneArcsec: asked.deadZone,
      ...(asked.delay === undefined ? {} : { delayS: asked.delay }),
    },
    measurement: asked.measurement,
    ...(asked.estimator === undefined ? {} : { estimator: asked.estimator }),
    picture: { exposureS: asked.exposure, duringEvents: !asked.pause },
    events: event === null ? [] : [event],
  };
  const ways: GuidedWay[] = [];
  const tried = event === null ? [{ name: 'guided', policy: {} }] : policies;
  for (const [i, { name, policy }] of tried.entries()) {
    const result = await trackStar(rig, {
      ...options,
      policy,
      onProgress: ({ done, total }) =>
        onProgress?.({ task: name, done: i * total + done, total: tried.length * total }),
    }).catch(namedForUser);
    ways.push({ name, policy, result });
  }
  return { rig: rig.name, event, ways };
}

/** What the library refuses of the numbers is the user's to mend. */
function namedForUser(error: unknown): never {
  if (error instanceof RangeError) throw new UnusableInput(error.message);
  throw error;
}

function eventOf(rig: Rig, asked: TrackingQuestion): TrackEvent | null {
  const { event, at: startS, seconds, positions } = asked;
  if (asked.filter !== undefined && event !== 'filter-change')
    throw new UnusableInput(`--filter belongs to --event filter-change, got --event ${event}`);
  if (asked.span !== undefined && event !== 'focus-run')
    throw new UnusableInput(`--span belongs to --event focus-run, got --event ${event}`);
  switch (event) {
    case 'none':
      return null;
    case 'no-star':
      return { kind: 'no-star', startS, durationS: seconds };
    case 'filter-change': {
      const names = rig.filters.map(({ name }) => name);
      const filter = rig.filters.find(({ name }) => name === (asked.filter ?? names[1] ?? names[0]));
      if (filter === undefined)
        throw new UnusableInput(
          `--filter must be one of ${names.join(', ')}, got ${JSON.stringify(asked.filter)}`,
        );
      const focusShiftUm = rig.guideFocusShiftUm + filter.focusShiftUm;
      return { kind: 'filter-change', startS, withoutStarS: seconds, focusShiftUm };
    }
    case 'focus-run': {
      const span = asked.span ?? defaultSpanUm(rig);
      const shiftsUm = Array.from(
        { length: positions },
        (_, i) => rig.guideFocusShiftUm + span * ((2 * i) / (positions - 1) - 1),
      );
      return {
        kind: 'focus-run',
        startS,
        shiftsUm,
        secondsEach: seconds,
        endShiftUm: rig.guideFocusShiftUm,
      };
    }
  }
}

/** Shift that makes a ring four times as wide as the seeing, to 10 um. */
function defaultSpanUm({ telescope, sky }: Rig): number {
  const umPerArcsec = (telescope.focalLengthMm * 1000) / arcsecPerRadian;
  const ringUm = 4 * sky.seeingFwhmArcsec * umPerArcsec;
  return 10 * Math.round((ringUm * telescope.focalLengthMm) / telescope.apertureMm / 10);
}
