/** One event, guided through in several ways on the same air, wind and noise. */

import { arcsecPerRadian } from '@holdfast/psf/numerics';
import {
  type LongWorkOptions,
  type Rig,
  type TrackEvent,
  type TrackOptions,
  type TrackPolicy,
  type TrackResult,
  trackStar,
} from '@holdfast/sim';
import { UnusableInput } from '../programs/command-line/command-line.ts';
import type { TrackingCommand } from '../programs/command-line/tracking-command.ts';

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
  { name: 'hold, old set point', policy: { duringEvents: 'hold', resumeOn: 'old' } },
  { name: 'hold, new set point', policy: { duringEvents: 'hold', resumeOn: 'new' } },
  { name: 'carry on', policy: { duringEvents: 'carry-on' } },
];

/** @throws UnusableInput naming what cannot be used */
export async function compareWays(
  rig: Rig,
  command: TrackingCommand,
  { onProgress }: LongWorkOptions,
): Promise<TrackingComparison> {
  const event = eventOf(rig, command);
  const star = {
    focusShiftUm: rig.guideFocusShiftUm,
    ...(command.clipDistance === undefined ? {} : { clipDistance: command.clipDistance }),
  };
  const options: TrackOptions = {
    seed: command.seed,
    durationS: command.durationS,
    runs: command.runs,
    star,
    loop: {
      proportionalGain: command.gain ?? rig.tracking.proportionalGain,
      integralGain: command.integral,
      deadZoneArcsec: command.deadZoneArcsec,
      delayS: command.delayS,
    },
    measurement: command.measurement,
    ...(command.estimator === undefined ? {} : { estimator: command.estimator }),
    picture: { exposureS: command.exposureS, duringEvents: !command.pause },
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

function eventOf(rig: Rig, command: TrackingCommand): TrackEvent | null {
  const { event, atS: startS, secondsS, positions } = command;
  if (command.filter !== undefined && event !== 'filter-change')
    throw new UnusableInput(`--filter belongs to --event filter-change, got --event ${event}`);
  if (command.spanUm !== undefined && event !== 'focus-run')
    throw new UnusableInput(`--span belongs to --event focus-run, got --event ${event}`);
  switch (event) {
    case 'none':
      return null;
    case 'no-star':
      return { kind: 'no-star', startS, durationS: secondsS };
    case 'filter-change': {
      const names = rig.filters.map(({ name }) => name);
      const filter = rig.filters.find(({ name }) => name === (command.filter ?? names[1] ?? names[0]));
      if (filter === undefined)
        throw new UnusableInput(
          `--filter must be one of ${names.join(', ')}, got ${JSON.stringify(command.filter)}`,
        );
      const focusShiftUm = rig.guideFocusShiftUm + filter.focusShiftUm;
      return { kind: 'filter-change', startS, withoutStarS: secondsS, focusShiftUm };
    }
    case 'focus-run': {
      const span = command.spanUm ?? defaultSpanUm(rig);
      const shiftsUm = Array.from(
        { length: positions },
        (_, i) => rig.guideFocusShiftUm + span * ((2 * i) / (positions - 1) - 1),
      );
      return {
        kind: 'focus-run',
        startS,
        shiftsUm,
        secondsEach: secondsS,
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
