/**
 * Guide frames of a star that moves, grows and vanishes: drawn, exposed and measured, or replaced by their
 * known error.
 */
import type { FailureReason } from '@holdfast/centroid';
import { prepareExposure, type RandomStream, randomStream } from '@holdfast/psf';
import { borderBackground } from '../trials/border-background.ts';
import { prepareEstimator } from '../trials/estimators.ts';
import { measureError } from '../trials/measure-error.ts';
import { buildScene, prepareScene, type Scene, type SceneSetting } from '../trials/scene.ts';
import type { TrackPlan } from './tracking-options.ts';

/** One guide frame. Places in px of the scene, from the set point at the start of the run. */
export interface GuideFrame {
  /** True center of mass of the light, averaged over the exposure. */
  readonly x: number;
  readonly y: number;
  /** Pixel around which the star is looked for. */
  readonly column: number;
  readonly row: number;
  readonly focusShiftUm: number;
  /** Share of the exposure with a star. */
  readonly starShare: number;
}

export type Measured =
  | { readonly ok: true; readonly x: number; readonly y: number }
  | { readonly ok: false; readonly reason: FailureReason };

/** Measures guide frames. A frame is a function of what it shows and of its stream. */
export type MeasureFrame = (frame: GuideFrame, random: RandomStream) => Measured;

/** The way of measuring, and where it has the star at the start of each run: the set point, px. */
export interface GuideFrames {
  readonly measure: MeasureFrame;
  readonly setPoint: { readonly x: number; readonly y: number };
}

/** Frames whose mean is the set point: its own noise is a sixteenth of that of one frame. */
const setPointFrames = 256;

/**
 * Change of the ring's diameter within which one drawn shape serves, px: a twentieth of a pixel at its edge.
 */
const diameterStepPx = 0.1;
/** Trials for the known error at each of the focus shifts between which it is interpolated. */
const errorTrials = 128;

/**
 * @param plan says which of the two ways is taken; frames are drawn with the star's shape at its focus shift
 *              (to a tenth of a pixel of the ring's diameter), not smeared by its motion within the exposure
 */
export function prepareGuideFrames(plan: TrackPlan): GuideFrames {
  if (plan.measurement === 'gaussian') return knownErrors(plan);
  const measure = drawnFrames(plan);
  return { measure, setPoint: meanPlace(plan, measure) };
}

/**
 * Mean measured place of the star where it stands at the start: a constant offset of the method is no error
 * of the loop.
 */
function meanPlace({ seed, scene }: TrackPlan, measure: MeasureFrame): { x: number; y: number } {
  const frame: GuideFrame = {
    x: 0,
    y: 0,
    column: 0,
    row: 0,
    focusShiftUm: scene.setting.focusShiftUm,
    starShare: 1,
  };
  const sum = { x: 0, y: 0 };
  let located = 0;
  for (let i = 0; i < setPointFrames; i++) {
    const found = measure(frame, randomStream(seed, 'set point', i));
    if (!found.ok) continue;
    sum.x += found.x;
    sum.y += found.y;
    located++;
  }
  return located === 0 ? sum : { x: sum.x / located, y: sum.y / located };
}

/** Views of the plan's star at other focus shifts, equally bright, made when first asked for. */
interface FocusViews<View> {
  /** Where a focus shift lies, counted in steps from that at the start, which is drawn as it is. */
  placeOf(focusShiftUm: number): number;
  /** @param step  a whole number */
  at(step: number): View;
}

function focusViews<View>(
  { rig, scene }: TrackPlan,
  diameterPx: number,
  view: (scene: Scene) => View,
): FocusViews<View> {
  const { focalLengthMm, apertureMm } = rig.telescope;
  const stepUm = (diameterPx * scene.pixelSizeUm * scene.binning * focalLengthMm) / apertureMm;
  const { snr: _snr, magnitude: _magnitude, ...setting } = scene.setting;
  const fluxE = (scene.fluxE * rig.guideCamera.exposureS) / scene.exposureS;
  const startUm = scene.setting.focusShiftUm;
  const views = new Map<number, View>();
  return {
    placeOf: (focusShiftUm) => (focusShiftUm - startUm) / stepUm,
    at(step) {
      let found = views.get(step);
      if (found === undefined) {
        const there: SceneSetting = { ...setting, fluxE, focusShiftUm: startUm + step * stepUm };
        found = view(step === 0 ? scene : buildScene(rig, there));
        views.set(step, found);
      }
      return found;
    },
  };
}

function drawnFrames(plan: TrackPlan): MeasureFrame {
  const views = focusViews(plan, diameterStepPx, (scene) => {
    const border = borderBackground(scene);
    return {
      scene,
      star: prepareScene(scene),
      exposure: prepareExposure(scene.camera, { width: scene.width, height: scene.height }),
      border,
      measure: prepareEstimator(plan.estimator, scene, border.levelSigma),
      expected: new Float64Array(scene.width * scene.height),
      pixels: new Float64Array(scene.width * scene.height),
    };
  });
  return (frame, random) => {
    const { scene, star, exposure, border, measure, expected, pixels } = views.at(
      Math.round(views.placeOf(frame.focusShiftUm)),
    );
    const x = scene.column + frame.x - frame.column;
    const y = scene.row + frame.y - frame.row;
    // A star this far off leaves no light in the stamp, and some shapes come back periodically.
    const reach = scene.radiusPx + Math.max(scene.width, scene.height) / 2;
    const isNear = Math.abs(x - scene.column) < reach && Math.abs(y - scene.row) < reach;
    const flux = isNear ? scene.fluxE * frame.starShare : 0;
    if (flux > 0) star.renderInto(expected, x, y, flux);
    else expected.fill(0);
    for (let k = 0; k < expected.length; k++) expected[k] += scene.backgroundE;
    exposure.exposeInto(pixels, expected, random);
    const found = measure(pixels, border.levelOf(pixels));
    if (!found.ok) return found;
    return {
      ok: true,
      x: found.x - scene.column + frame.column,
      y: found.y - scene.row + frame.row,
    };
  };
}

const noStar: Measured = { ok: false, reason: 'no-flux' };
const outside: Measured = { ok: false, reason: 'outside' };

/** What trials say of the star at a focus shift. Arcsec would not do: the frames are in px of the scene. */
interface KnownError {
  readonly scatterPx: number;
  readonly responseX: number;
  readonly responseY: number;
  readonly offsetX: number;
  readonly offsetY: number;
  readonly lost: number;
  readonly reachPx: number;
}

function knownErrors(plan: TrackPlan): GuideFrames {
  const { estimator, seed, measurementRmsArcsec } = plan;
  // The error follows the ring's diameter smoothly: between steps of twice the blur it is as good as
  // straight.
  const views = focusViews(plan, 2 * Math.max(1, plan.scene.blurFwhmPx), (scene): KnownError => {
    const reachPx = scene.windowPx / 2;
    const exact = { responseX: 1, responseY: 1, offsetX: 0, offsetY: 0, lost: 0, reachPx };
    if (measurementRmsArcsec !== undefined)
      return { ...exact, scatterPx: measurementRmsArcsec / scene.arcsecPerPx };
    const error = measureError(scene, { estimator, seed: `${seed}|known errors`, trials: errorTrials });
    const { scatterPx, responseX, responseY, offsetXPx, offsetYPx, lostFraction } = error;
    if (!scatterPx || !responseX || !responseY) return { ...exact, scatterPx: 0, lost: 1 };
    return {
      scatterPx: scatterPx.value,
      responseX: responseX.value,
      responseY: responseY.value,
      offsetX: offsetXPx?.value ?? 0,
      offsetY: offsetYPx?.value ?? 0,
      lost: lostFraction.value,
      reachPx,
    };
  });
  const measure: MeasureFrame = (frame, random) => {
    const place = views.placeOf(frame.focusShiftUm);
    const from = views.at(Math.floor(place));
    const to = views.at(Math.ceil(place));
    const part = place - Math.floor(place);
    const now = (key: keyof KnownError) => from[key] + part * (to[key] - from[key]);
    const chance = random.stream('lost').uniform();
    const error = random.stream('error');
    const awayX = frame.x - frame.column;
    const awayY = frame.y - frame.row;
    const x = frame.column + now('offsetX') + now('responseX') * awayX + now('scatterPx') * error.normal();
    const y = frame.row + now('offsetY') + now('responseY') * awayY + now('scatterPx') * error.normal();
    if (frame.starShare < 0.5 || chance < now('lost')) return noStar;
    return awayX * awayX + awayY * awayY > now('reachPx') ** 2 ? outside : { ok: true, x, y };
  };
  const { offsetX, offsetY } = views.at(0);
  return { measure, setPoint: { x: offsetX, y: offsetY } };
}
