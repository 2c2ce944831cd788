/** One event, guided through in three ways on the same air, wind, mount and noise. */
import { type Rig, type TrackEvent, type TrackPolicy, type TrackResult, trackStar } from '@holdfast/sim';

export type EventKind = 'focus-run' | 'filter-change' | 'no-star';

export interface RunSetting {
  readonly event: EventKind;
  /** Half of the focuser's way in a focus run, or the new filter's shift, um. */
  readonly spanUm: number;
  /** Time at each position of a focus run, or without a star, s. */
  readonly secondsEach: number;
  readonly clipDistance: number;
}

export interface GuidedRuns {
  readonly rig: string;
  readonly event: TrackEvent;
  readonly ways: readonly {
    readonly name: string;
    readonly policy: TrackPolicy;
    readonly result: TrackResult;
  }[];
}

const policies: readonly { readonly name: string; readonly policy: TrackPolicy }[] = [
  { name: 'pause, old set point', policy: { duringEvents: 'pause', resumeOn: 'old' } },
  { name: 'pause, new set point', policy: { duringEvents: 'pause', resumeOn: 'new' } },
  { name: 'carry on', policy: { duringEvents: 'carry-on' } },
];

const startS = 60;
/** Time after the event, s: what is left of it shows. */
const afterS = 120;

export function eventOf(rig: Rig, { event, spanUm, secondsEach }: RunSetting): TrackEvent {
  const focus = rig.guideFocusShiftUm;
  switch (event) {
    case 'focus-run':
      return {
        kind: 'focus-run',
        startS,
        shiftsUm: [-1, -0.5, 0, 0.5, 1].map((part) => focus + part * spanUm),
        secondsEach,
        endShiftUm: focus,
      };
    case 'filter-change':
      return { kind: 'filter-change', startS, withoutStarS: secondsEach, focusShiftUm: focus + spanUm };
    case 'no-star':
      return { kind: 'no-star', startS, durationS: secondsEach };
  }
}

export async function guidedRun(
  rig: Rig,
  setting: RunSetting,
  seed: string,
  runs: number,
): Promise<GuidedRuns> {
  const event = eventOf(rig, setting);
  const eventS = event.kind === 'focus-run' ? 5 * (setting.secondsEach + 1) + 1 : setting.secondsEach;
  const ways = [];
  for (const { name, policy } of policies) {
    const result = await trackStar(rig, {
      seed,
      runs,
      durationS: 60 * Math.ceil((startS + eventS + afterS) / 60),
      settleS: 60,
      star: { focusShiftUm: rig.guideFocusShiftUm, clipDistance: setting.clipDistance },
      events: [event],
      policy,
      picture: { exposureS: 60, gapS: 0 },
    });
    ways.push({ name, policy, result });
  }
  return { rig: rig.name, event, ways };
}
