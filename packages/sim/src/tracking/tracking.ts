/**
 * Guiding in time: how far the star strays while the loop corrects, and what focus runs, filter changes and
 * lost stars do.
 */
import { type LongWorkOptions, pause } from '../long-work.ts';
import { correctionShares, type LoopTiming, loopNoiseRatio } from '../motion/loop-response.ts';
import type { Rig } from '../rig/rig-schema.ts';
import { describeScene, type SceneDescription } from '../sweep/sweep-cell.ts';
import { prepareTimeline } from './tracking-events.ts';
import { type GuideFrames, prepareGuideFrames } from './tracking-frames.ts';
import { planTracking, type TrackOptions, type TrackPlan } from './tracking-options.ts';
import { reportTracking, type TrackNumbers, type TrackPair } from './tracking-report.ts';
import { startRun, type TrackSeries, walkOf } from './tracking-run.ts';

/** Runs of guiding, in numbers and as one run in time. Lengths in arcsec on the night sky. */
export interface TrackResult extends TrackNumbers {
  /** Name of the rig. */
  readonly rig: string;
  /** Seed of the simulation. */
  readonly seed: string | number;
  /** Simulated runs. */
  readonly runs: number;
  /** Length of a run, s. */
  readonly durationS: number;
  /** The guide star at the start. */
  readonly scene: SceneDescription;
  /** Times as used, rounded to whole steps. */
  readonly timing: LoopTiming;
  /** Time step of the series, s. */
  readonly stepS: number;
  /** How the loop was set. */
  readonly loop: {
    readonly proportionalGain: number;
    readonly integralGain: number;
    readonly stable: boolean;
    /** Gain at which a loop of this timing without integral term begins to swing ever wider. */
    readonly largestStableGain: number;
    /**
     * Rms of the position error over that of one measurement which causes it, by theory; absent when not
     * stable.
     */
    readonly noiseRatio?: number;
  };
  /** How far the guide star's light walks per um of focus shift: 0 unless the beam is clipped. */
  readonly walkArcsecPerUm: { readonly x: number; readonly y: number };
  /** The first run. */
  readonly series: TrackSeries;
  /** The first run without its events; absent when there are none. */
  readonly seriesWithout?: TrackSeries;
  /** What the numbers do not know of, for people. */
  readonly notModeled: readonly string[];
}

const notModeled = [
  'a mount that rings, a correction of the wrong size or direction, a frame turned against the axes',
  'flexure between guide camera and main camera, and field rotation',
  'slow motion of the air that guide star and picture share: the picture is taken to have air of its own',
  'the smear of the guide star by its motion within one exposure',
  'the main camera out of focus during a focus run',
];

/** Guide frames between two looks at the clock. */
const framesAtOnce = 256;

/**
 * Simulate guiding in a closed loop, several times over.
 *
 * In each step of time (0.1 s): drift, periodic error, gusts of wind and the corrections so far add up to the
 * position error. A guide frame sees its mean over the exposure, plus the mean of the air's motion
 * (`prepareImageMotion`), plus the walk of a clipped star with its focus; it is drawn there with the star's
 * shape at its focus shift, exposed and measured (`measurement: 'frames'`), or the position gets an error of
 * the known size (`'gaussian'`). Readout and computing later the loop asks for -(g offset + sum of i offset);
 * the mount carries it out at its own speed, on y through its backlash. There is no prediction. With events,
 * every run is done twice, with and without them, on the same air, wind, mount and noise.
 *
 * A star that is not found gives no correction. The set point is the star's mean measured place at the start,
 * so that a constant offset of the method is no error. The window stands at the set point; after five lost
 * frames, and after a pause, the whole sensor is searched, which finds it if it is there.
 *
 * ```ts
 * const events = [{ kind: 'focus-run', startS: 120, shiftsUm: [-200, -100, 0, 100, 200], secondsEach: 6, endShiftUm: 20 }]
 * const held = await trackStar(rig, { seed: 1, durationS: 600, events })
 * console.log(held.events[0].offsetOnResume, held.picture.map(({ growthPercent }) => growthPercent))
 * ```
 * @returns rms, peaks, offsets and the picture's stars with standard errors from the spread between runs (0
 *   for one run)
 * @throws RangeError or TypeError naming the option, the value got and what is allowed: a gain outside the
 *         stable range unless `allowUnstable`, negative times, events that overlap; the signal's reason when
 *         canceled
 */
export async function trackStar(rig: Rig, options: TrackOptions): Promise<TrackResult> {
  const plan = planTracking(rig, options);
  const hasEvents = plan.timeline.spans.length > 0;
  const calmPlan: TrackPlan = {
    ...plan,
    timeline: prepareTimeline([], plan.scene.setting.focusShiftUm, plan.durationS),
  };
  const measure = prepareGuideFrames(plan);
  const pairs: TrackPair[] = [];
  const total = plan.runs * (hasEvents ? 2 : 1);
  for (let run = 0; run < plan.runs; run++) {
    const done = run * (hasEvents ? 2 : 1);
    const track = await wholeRun(plan, run, measure, options, done, total);
    pairs.push(
      hasEvents
        ? { track, without: await wholeRun(calmPlan, run, measure, options, done + 1, total) }
        : { track },
    );
  }
  const { corrections, timing } = plan;
  const walk = walkOf(plan);
  const [{ track, without }] = pairs;
  return {
    rig: rig.name,
    seed: plan.seed,
    runs: plan.runs,
    durationS: plan.durationS,
    scene: describeScene(plan.scene),
    timing,
    stepS: plan.stepS,
    loop: {
      proportionalGain: corrections.proportionalGain,
      integralGain: corrections.integralGain ?? 0,
      stable: plan.stable,
      largestStableGain: plan.largestStableGain,
      ...(plan.stable ? { noiseRatio: loopNoiseRatio(correctionShares(timing), corrections) } : {}),
    },
    walkArcsecPerUm: { x: walk.xPerUm, y: walk.yPerUm },
    ...reportTracking(plan, pairs),
    series: track,
    ...(without ? { seriesWithout: without } : {}),
    notModeled,
  };
}

async function wholeRun(
  plan: TrackPlan,
  run: number,
  measure: GuideFrames,
  { signal, onProgress }: LongWorkOptions,
  done: number,
  total: number,
): Promise<TrackSeries> {
  const going = startRun(plan, run, measure);
  for (let isOver = false; !isOver; ) {
    await pause(signal);
    isOver = going.advance(framesAtOnce);
    onProgress?.({ task: 'guiding', done: done + going.done(), total });
  }
  return going.series;
}
