/** One run of guiding in time: disturbances, guide frames, corrections, step by step. */
import { pupilMoments, type RandomStream, randomStream } from '@holdfast/psf';
import { arcsecPerRadian } from '@holdfast/psf/numerics';
import { type ImageMotion, type Motion, prepareImageMotion } from '../motion/image-motion.ts';
import { prepareMotor, prepareMountErrors } from '../motion/mount.ts';
import { prepareGusts } from '../motion/wind-gusts.ts';
import type { GuideFrames } from './tracking-frames.ts';
import { prepareGuide } from './tracking-guide.ts';
import type { TrackPlan } from './tracking-options.ts';

/** A run in time. Lengths in arcsec; the set point at the start of the run is 0. */
export interface TrackSeries {
  /** Value i of errors and focus shift stands for the time from i stepS to (i + 1) stepS. */
  readonly stepS: number;
  /** Position error: where mount and wind hold the telescope. Every star in the picture is moved by it. */
  readonly errorX: Float64Array;
  /** The same along y. */
  readonly errorY: Float64Array;
  /** Focus shift of the guide camera, um. */
  readonly focusShiftUm: Float64Array;
  /** The guide frames of the run. */
  readonly frames: FrameSeries;
}

/** The guide frames of a run. */
export interface FrameSeries {
  /** Start of the first frame's exposure and interval to the next, s. */
  readonly firstS: number;
  /** From the start of one frame to the next, s. */
  readonly intervalS: number;
  /** Exposure of a frame, s. */
  readonly exposureS: number;
  /** Offset of the star from the set point as measured; 0 where there is none. */
  readonly offsetX: Float64Array;
  /** The same along y. */
  readonly offsetY: Float64Array;
  /** Mean of the position error over the exposure. */
  readonly errorX: Float64Array;
  /** The same along y. */
  readonly errorY: Float64Array;
  /** Mean of the motion by the air over the exposure. */
  readonly airX: Float64Array;
  /** The same along y. */
  readonly airY: Float64Array;
  /** Index into `frameStates`. */
  readonly state: Uint8Array;
}

/** A run in pieces, which yields to the event loop between them. */
export interface TrackingRun {
  /** Share of the run that is done, 0 to 1. */
  readonly done: () => number;
  /** Go on for so many guide frames at most; true when the run is over. */
  readonly advance: (frames: number) => boolean;
  readonly series: TrackSeries;
}

/**
 * Air slower than this is where the star stood when the set point was taken: only its change since counts.
 */
const setUpHz = 1 / 3600;

/**
 * Number `run` of a plan. Mount, wind, air and each guide frame draw from streams of their own, so that a
 * change of one leaves the others as they are.
 */
export function startRun(plan: TrackPlan, run: number, measure: GuideFrames): TrackingRun {
  const { mount, wind, stepS, timing, steps, intervalSteps, exposureSteps, delaySteps, timeline } = plan;
  const random = randomStream(plan.seed, 'track', run);
  const mountErrors = prepareMountErrors(mount, random.stream('mount'));
  const gustX = prepareGusts(wind, stepS, random.stream('wind', 'x'));
  const gustY = prepareGusts(wind, stepS, random.stream('wind', 'y'));
  const motorX = prepareMotor(mount.correctionSpeedArcsecPerS, 0);
  const motorY = prepareMotor(mount.correctionSpeedArcsecPerS, mount.backlashArcsec);
  const air = airOver(plan)?.(random.stream('air'));
  const walk = walkOf(plan);
  const guide = prepareGuide(plan, measure);
  // Whole intervals before the start, so that frame 0 of every run begins at time 0.
  const settleFrames = Math.ceil(plan.settleSteps / intervalSteps);
  const firstStep = -settleFrames * intervalSteps;
  const startX = mountErrors.x(firstStep * stepS);
  const startY = mountErrors.y(firstStep * stepS);
  const airNow: Motion = { x: 0, y: 0 };
  const airAtStart: Motion = { x: 0, y: 0 };
  air?.slowInto(airAtStart, 0, setUpHz);
  const due: { step: number; x: number; y: number }[] = [];
  const series = createSeries(plan);
  const { errorX, errorY, frames } = series;
  let frame = -settleFrames;
  let step = firstStep;
  let sumX = 0;
  let sumY = 0;

  function endFrame(): void {
    const startS = frame * timing.intervalS;
    const endS = startS + timing.exposureS;
    const meanX = sumX / exposureSteps;
    const meanY = sumY / exposureSteps;
    air?.meanInto(airNow, startS, timing.exposureS);
    const airX = airNow.x - airAtStart.x;
    const airY = airNow.y - airAtStart.y;
    const focusShiftUm = timeline.focusShiftUm(startS + timing.exposureS / 2);
    const walked = focusShiftUm - plan.scene.setting.focusShiftUm;
    const guidance = guide(
      {
        x: meanX + airX + walk.xPerUm * walked,
        y: meanY + airY + walk.yPerUm * walked,
        focusShiftUm,
        starShare: timeline.starShare(startS, endS),
        inEvent: timeline.isInEvent(startS, endS, plan.policy.pauseAfterS),
      },
      random.stream('frame', frame),
    );
    if (guidance.moveX !== 0 || guidance.moveY !== 0)
      due.push({ step: step + delaySteps, x: guidance.moveX, y: guidance.moveY });
    if (frame < 0) return;
    frames.offsetX[frame] = guidance.offsetX;
    frames.offsetY[frame] = guidance.offsetY;
    frames.errorX[frame] = meanX;
    frames.errorY[frame] = meanY;
    frames.airX[frame] = airX;
    frames.airY[frame] = airY;
    frames.state[frame] = guidance.state;
  }

  function oneStep(): void {
    while (due.length > 0 && due[0].step <= step) {
      motorX.move(due[0].x);
      motorY.move(due[0].y);
      due.shift();
    }
    const middleS = (step + 0.5) * stepS;
    const x = mountErrors.x(middleS) - startX + gustX() + motorX.run(stepS);
    const y = mountErrors.y(middleS) - startY + gustY() + motorY.run(stepS);
    if (step >= 0) {
      errorX[step] = x;
      errorY[step] = y;
    }
    const phase = step - frame * intervalSteps;
    step++;
    if (phase < exposureSteps) {
      sumX += x;
      sumY += y;
      if (phase === exposureSteps - 1) {
        endFrame();
        sumX = sumY = 0;
      }
    }
    if (phase === intervalSteps - 1) frame++;
  }

  return {
    series,
    done: () => (step - firstStep) / (steps - firstStep),
    advance(most) {
      const end = Math.min(steps, step + most * intervalSteps);
      while (step < end) oneStep();
      return step >= steps;
    },
  };
}

function createSeries({
  stepS,
  steps,
  intervalSteps,
  exposureSteps,
  timing,
  timeline,
}: TrackPlan): TrackSeries {
  // Only frames whose exposure is over by the end.
  const count = Math.floor((steps - exposureSteps) / intervalSteps) + 1;
  const values = () => new Float64Array(Math.max(0, count));
  return {
    stepS,
    errorX: new Float64Array(steps),
    errorY: new Float64Array(steps),
    focusShiftUm: Float64Array.from({ length: steps }, (_, i) => timeline.focusShiftUm((i + 0.5) * stepS)),
    frames: {
      firstS: 0,
      intervalS: timing.intervalS,
      exposureS: timing.exposureS,
      offsetX: values(),
      offsetY: values(),
      errorX: values(),
      errorY: values(),
      airX: values(),
      airY: values(),
      state: new Uint8Array(Math.max(0, count)),
    },
  };
}

function airOver({ air, rig, scene }: TrackPlan): ((random: RandomStream) => ImageMotion) | undefined {
  if (air === null) return undefined;
  return prepareImageMotion({
    ...air,
    seeingFwhmArcsec: scene.seeingFwhmArcsec,
    wavelengthNm: rig.guideCamera.wavelengthNm,
    apertureMm: rig.telescope.apertureMm,
    obstructionRatio: scene.obstructionRatio,
  });
}

/**
 * How far the center of the guide star's light walks per um of focus shift, arcsec: -1 / (2 F) times the
 * center of the pupil's light, in aperture radii (geometric optics gives it exactly).
 */
export function walkOf({ scene, rig }: Pick<TrackPlan, 'scene' | 'rig'>): { xPerUm: number; yPerUm: number } {
  const { apertureMm, focalLengthMm } = rig.telescope;
  if (!scene.star.isClipped) return { xPerUm: 0, yPerUm: 0 };
  const light = pupilMoments(scene.star.pupil);
  const arcsecPerUm = arcsecPerRadian / (1000 * focalLengthMm);
  const perUm = (-apertureMm / (2 * focalLengthMm)) * arcsecPerUm;
  return { xPerUm: perUm * light.x, yPerUm: perUm * light.y };
}
