/**
 * What a focus run of the main camera does to guiding: the star becomes a ring, stands still or strays, and
 * comes back.
 */
import type { LongWorkOptions } from '../long-work.ts';
import type { Rig } from '../rig/rig-schema.ts';
import { trackStar } from '../tracking/tracking.ts';
import type { TrackPolicy } from '../tracking/tracking-options.ts';
import type { Estimate, Interval } from '../trials/statistics.ts';

/** A focus run with one way for the loop to take it. Standard errors from the spread between runs. */
export interface FocusRunOutcome {
  /** What the loop does during the run. */
  readonly policy: NonNullable<TrackPolicy['duringEvents']>;
  /** Guide frames without a position, held ones left out. */
  readonly lostFraction: Interval;
  /** Time without a correction, s. */
  readonly withoutCorrectionS: Estimate;
  /** Rms position error per axis when the focus run is over, arcsec; both axes together. */
  readonly offsetArcsec: Estimate;
  /**
   * Time until the star is back within twice its usual rms, s; a run that does not get there counts in full.
   */
  readonly recoveryS: Estimate;
  /** Runs whose star does not come back in time. */
  readonly unrecoveredRuns: number;
  /**
   * Growth that the focus run adds to the first exposure begun after it, %; undefined when none ends in time.
   */
  readonly addedGrowthPercent: Estimate | undefined;
}

/** What a focus run does to guiding, by either way to take it. */
export interface FocusRunEffect {
  /** Focus shift of the guide camera at each position, um. */
  readonly shiftsUm: readonly number[];
  /** How long the focus run takes, s. */
  readonly durationS: number;
  /** Simulated runs of each kind. */
  readonly runs: number;
  /** Exposure of the picture, s. */
  readonly exposureS: number;
  /** No corrections during the run, then back to the old set point. */
  readonly pause: FocusRunOutcome;
  /** Whatever the frames show is followed. */
  readonly carryOn: FocusRunOutcome;
}

export interface FocusRunOptions extends LongWorkOptions {
  readonly seed: string | number;
  /** Simulated runs of each kind. Default 8. */
  readonly runs?: number;
}

/** Time before and after the focus run, s, and the exposure of the main camera. */
const beforeS = 60;
const afterS = 240;
const exposureS = 120;

/**
 * Simulate the focus run that the rig's focuser names, with the reference filter in the beam, by `trackStar`:
 * its default mount, wind and air at the rig's wind speed. No exposure of the main camera is open during it.
 *
 * @returns undefined when the rig names no focus run
 * @throws the signal's reason when canceled
 */
export async function focusRunEffect(
  rig: Rig,
  { seed, runs = 8, signal, onProgress }: FocusRunOptions,
): Promise<FocusRunEffect | undefined> {
  const focusRun = rig.focuser?.focusRun;
  if (focusRun === undefined) return undefined;
  const { positions, spacingUm, secondsEach, moveS } = focusRun;
  const reference = rig.filters.find(({ name }) => name === rig.referenceFilter) ?? rig.filters[0];
  const startUm = rig.guideFocusShiftUm + reference.focusShiftUm;
  const shiftsUm = Array.from(
    { length: positions },
    (_, i) => startUm + spacingUm * (i - (positions - 1) / 2),
  );
  const durationS = positions * (secondsEach + moveS) + moveS;
  const outcome = async (duringEvents: FocusRunOutcome['policy'], part: 0 | 1): Promise<FocusRunOutcome> => {
    const track = await trackStar(rig, {
      seed,
      runs,
      durationS: beforeS + durationS + afterS,
      star: { focusShiftUm: startUm },
      air: { windMPerS: rig.sky.windMPerS },
      loop: { delayS: rig.tracking.correctionDelayS },
      events: [{ kind: 'focus-run', startS: beforeS, shiftsUm, secondsEach, moveS, endShiftUm: startUm }],
      policy: { duringEvents },
      picture: { exposureS, duringEvents: false },
      ...(signal ? { signal } : {}),
      onProgress: ({ done, total }) =>
        onProgress?.({ task: 'focus run', done: part * total + done, total: 2 * total }),
    });
    const [event] = track.events;
    const { rmsX, rmsY } = event.offsetOnResume;
    const first = track.picture.find(({ startS }) => startS >= event.endS);
    return {
      policy: duringEvents,
      lostFraction: track.lostFraction,
      withoutCorrectionS: event.withoutCorrectionS,
      offsetArcsec: bothAxes(rmsX, rmsY),
      recoveryS: event.recoveryS,
      unrecoveredRuns: event.unrecoveredRuns,
      addedGrowthPercent: first?.added?.growthPercent,
    };
  };
  return {
    shiftsUm,
    durationS,
    runs,
    exposureS,
    pause: await outcome('pause', 0),
    carryOn: await outcome('carry-on', 1),
  };
}

/** Rms of one axis from both: sqrt((x^2 + y^2) / 2). */
function bothAxes(x: Estimate, y: Estimate): Estimate {
  const value = Math.sqrt((x.value ** 2 + y.value ** 2) / 2);
  const spread = Math.sqrt((x.value * x.standardError) ** 2 + (y.value * y.standardError) ** 2);
  return { value, standardError: value > 0 ? spread / 2 / value : 0 };
}
