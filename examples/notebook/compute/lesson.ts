/** One star, frame after frame, with what spoils a center of mass switched on one by one. */
import { randomStream } from '@holdfast/psf';
import { buildScene, prepareScene, type Rig, type Scene, type SceneSetting } from '@holdfast/sim';
import { leastError, prepareEstimator } from '@holdfast/sim/internal';
import { shiftOfRing } from './derived.ts';

export interface Lesson {
  readonly ringPx: number;
  readonly photons: boolean;
  readonly sky: boolean;
  readonly threshold: boolean;
  readonly window: boolean;
  readonly clipped: boolean;
  readonly neighbor: boolean;
  readonly mend: Mend;
}

export type Mend = 'nothing' | 'template' | 'window' | 'longer' | 'refocus';

export interface LessonResult {
  /** Measured minus true position, px, frame after frame; lost frames are left out. */
  readonly errorX: Float64Array;
  readonly errorY: Float64Array;
  readonly lost: number;
  readonly frames: number;
  /** Undefined when too few frames are left. */
  readonly found?: LessonError;
  /** Least possible error; undefined without noise. */
  readonly boundPx: number | undefined;
  /** The first frame, as the method sees it. */
  readonly first: LessonFrame;
}

export interface LessonFrame {
  readonly width: number;
  readonly height: number;
  /** Electrons above the background, or above the threshold where there is one. */
  readonly pixels: Float64Array;
  /** Where a perfect star would be, px. */
  readonly x: number;
  readonly y: number;
  readonly found: { readonly x: number; readonly y: number } | undefined;
  /** First and last pixel of the window, on both axes; absent where all of the frame is measured. */
  readonly window?: { readonly from: number; readonly to: number };
}

export interface LessonError {
  /** Length of the mean error, px. */
  readonly offsetPx: number;
  /** px that the measured position moves along x for each px that the star moves. */
  readonly response: number;
  /** About the straight line that the response is the slope of, one axis, px. */
  readonly scatterPx: number;
}

const frames = 160;
const snr = 40;
/** The star moves slowly this far to both sides along x, px: what does not follow does not guide. */
const travelPx = 1.5;
/** Half the side of the small window, px: it suits a star in focus. */
const windowHalf = 5;
const thresholdSigmas = 3;
/** Pixels without light on each side of the two stars. */
const emptyPx = 8;
/** A ring of so many px after a refocus. */
const focusedPx = 3;

export function lesson(rig: Rig, setting: Lesson, seed: string): LessonResult {
  const whole = sceneOf(rig, setting, setting.neighbor);
  const noise = setting.sky
    ? { backgroundE: whole.backgroundE, pixelNoiseE: whole.pixelNoiseE }
    : { backgroundE: 0, pixelNoiseE: 0 };
  const scene = { ...whole, ...noise };
  const { width, height, column, row, backgroundE, pixelNoiseE } = scene;
  const plan = prepareScene(scene);
  // The background is known exactly here; what the template is fitted with is the star alone.
  const fit =
    setting.mend === 'template'
      ? prepareEstimator('templateFit', { ...sceneOf(rig, setting, false), ...noise }, 0)
      : undefined;
  const half = setting.window && setting.mend !== 'window' ? windowHalf : Math.max(width, height);
  const sigma = Math.sqrt(backgroundE + pixelNoiseE * pixelNoiseE);
  const level = backgroundE + (setting.threshold ? thresholdSigmas * sigma : 0);
  const pixels = new Float64Array(width * height);
  const [errorX, errorY, truth, measured]: number[][] = [[], [], [], []];
  let first: LessonFrame | undefined;
  for (let i = 0; i < frames; i++) {
    const random = randomStream(seed, 'lesson', i);
    // There and back, at even speed.
    const part = (4 * i) / frames;
    const x = column + travelPx * (part < 1 ? part : part < 3 ? 2 - part : part - 4);
    const y = row + random.uniform() - 0.5;
    plan.renderInto(pixels, x, y, scene.fluxE);
    for (let k = 0; k < pixels.length; k++) {
      const mean = pixels[k] + backgroundE;
      const light = setting.photons ? random.poisson(Math.max(0, mean)) : mean;
      pixels[k] = light + (pixelNoiseE > 0 ? pixelNoiseE * random.normal() : 0);
    }
    const found = fit
      ? asPlace(fit(pixels, backgroundE))
      : centerOfMass(pixels, scene, half, level, setting.threshold);
    const [perfectX, perfectY] = [x - scene.lightOffsetPx.x, y - scene.lightOffsetPx.y];
    first ??= {
      width,
      height,
      pixels: Float64Array.from(pixels, (value) =>
        setting.threshold ? Math.max(0, value - level) : value - level,
      ),
      x: perfectX,
      y: perfectY,
      found,
      ...(half < column ? { window: { from: column - half, to: column + half } } : {}),
    };
    if (found === undefined) continue;
    errorX.push(found.x - perfectX);
    errorY.push(found.y - perfectY);
    truth.push(perfectX);
    measured.push(found.x);
  }
  return {
    errorX: Float64Array.from(errorX),
    errorY: Float64Array.from(errorY),
    lost: frames - errorX.length,
    frames,
    boundPx: setting.photons ? leastError(scene) : undefined,
    first: first as LessonFrame,
    ...(errorX.length > 2 ? { found: errorOf(truth, measured, errorX, errorY) } : {}),
  };
}

function sceneOf(rig: Rig, { ringPx, clipped, mend }: Lesson, withNeighbor: boolean): Scene {
  const px = mend === 'refocus' ? focusedPx : ringPx;
  const brightness = buildScene(rig, { focusShiftUm: shiftOfRing(rig, ringPx), snr }).fluxE;
  const setting: SceneSetting = {
    focusShiftUm: shiftOfRing(rig, px),
    fluxE: brightness * (mend === 'longer' ? 4 : 1),
    ...(mend === 'longer' ? { exposureS: 4 * rig.guideCamera.exposureS } : {}),
    // Room for the neighbor and for empty pixels, whatever the rig's filters ask for.
    windowPx: 2 * Math.ceil(1.25 * ringPx + emptyPx) + 1,
    // A perfect ring stands on the axis; the clipped beam is that of the pick-off at the edge.
    ...(clipped ? { clipDistance: 0.4 } : { offAxisMm: 0, clipDistance: 1 }),
    ...(withNeighbor ? { neighborDistancePx: 0.75 * ringPx + 4, neighborMagnitudeDifference: 1.5 } : {}),
  };
  return buildScene(rig, setting);
}

const asPlace = (found: { ok: boolean; x?: number; y?: number }): { x: number; y: number } | undefined =>
  found.ok && found.x !== undefined && found.y !== undefined ? { x: found.x, y: found.y } : undefined;

/** The mean place of the light, written out: everything that the lesson breaks stands here. */
function centerOfMass(
  pixels: Float64Array,
  { width, height, column, row }: Scene,
  half: number,
  level: number,
  isThreshold: boolean,
): { x: number; y: number } | undefined {
  let [sum, sumX, sumY] = [0, 0, 0];
  for (let y = Math.max(0, row - half); y <= Math.min(height - 1, row + half); y++)
    for (let x = Math.max(0, column - half); x <= Math.min(width - 1, column + half); x++) {
      const above = pixels[y * width + x] - level;
      const light = isThreshold ? Math.max(0, above) : above;
      sum += light;
      sumX += light * x;
      sumY += light * y;
    }
  const place = { x: sumX / sum, y: sumY / sum };
  const isInside = Math.abs(place.x - column) <= width && Math.abs(place.y - row) <= height;
  return sum > 0 && isInside ? place : undefined;
}

const meanOf = (values: readonly number[]): number => values.reduce((a, b) => a + b, 0) / values.length;

/** Offset, response and scatter: mean, slope and rest of measured against true positions. */
function errorOf(
  truth: readonly number[],
  measured: readonly number[],
  errorX: readonly number[],
  errorY: readonly number[],
): LessonError {
  const [meanTruth, meanMeasured, meanX, meanY] = [truth, measured, errorX, errorY].map(meanOf);
  let [xy, xx] = [0, 0];
  for (let i = 0; i < truth.length; i++) {
    xy += (truth[i] - meanTruth) * (measured[i] - meanMeasured);
    xx += (truth[i] - meanTruth) ** 2;
  }
  const response = xy / xx;
  const rest = meanOf(truth.map((x, i) => (measured[i] - meanMeasured - response * (x - meanTruth)) ** 2));
  const across = meanOf(errorY.map((y) => (y - meanY) ** 2));
  return {
    offsetPx: Math.sqrt(meanX * meanX + meanY * meanY),
    response,
    scatterPx: Math.sqrt((rest + across) / 2),
  };
}
