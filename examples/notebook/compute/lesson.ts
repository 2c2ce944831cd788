/** One star, frame after frame, with what spoils a center of mass switched on one by one. */
import { randomStream } from '@holdfast/psf';
import { buildScene, prepareScene, type Rig, type Scene, type SceneSetting } from '@holdfast/sim';
import { leastError, prepareEstimator, rmsPerAxis } from '@holdfast/sim/internal';
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
  /** Measured less true position, px, frame after frame; lost frames are left out. */
  readonly errorX: Float64Array;
  readonly errorY: Float64Array;
  readonly lost: number;
  readonly frames: number;
  readonly rmsPx: number | undefined;
  /** Least possible error; undefined without noise. */
  readonly boundPx: number | undefined;
  /** px that the measured position moves for each px that the star moves; undefined when too few frames are left. */
  readonly response: number | undefined;
}

const frames = 240;
const snr = 40;
/** The star moves slowly this far to both sides along x, px: what does not follow does not guide. */
const travelPx = 1.5;
/** Half the side of the small window, px: it suits a star in focus. */
const windowHalf = 5;
const thresholdSigmas = 3;
/** A ring of so many px after a refocus. */
const focusedPx = 3;

export function lesson(rig: Rig, setting: Lesson, seed: string): LessonResult {
  const scene = sceneOf(rig, setting, setting.neighbor);
  const { width, height, column, row } = scene;
  const plan = prepareScene(scene);
  const backgroundE = setting.sky ? scene.backgroundE : 0;
  const noiseE = setting.sky ? scene.pixelNoiseE : 0;
  const sigma = Math.sqrt(backgroundE + noiseE * noiseE);
  const measure =
    setting.mend === 'template'
      ? prepareEstimator('templateFit', sceneOf(rig, setting, false), sigma)
      : undefined;
  const half = setting.window && setting.mend !== 'window' ? windowHalf : Math.max(width, height);
  const threshold = setting.threshold ? thresholdSigmas * sigma : undefined;
  const pixels = new Float64Array(width * height);
  const errorX: number[] = [];
  const errorY: number[] = [];
  const truth: number[] = [];
  const measured: number[] = [];
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
      pixels[k] = light + (noiseE > 0 ? noiseE * random.normal() : 0) - backgroundE;
    }
    const found = measure
      ? asPlace(measure(pixels, 0))
      : centerOfMass(pixels, width, height, { column, row, half, threshold });
    if (found === undefined) continue;
    const [perfectX, perfectY] = [x - scene.lightOffsetPx.x, y - scene.lightOffsetPx.y];
    errorX.push(found.x - perfectX);
    errorY.push(found.y - perfectY);
    truth.push(perfectX);
    measured.push(found.x);
  }
  const enough = errorX.length > 2;
  return {
    errorX: Float64Array.from(errorX),
    errorY: Float64Array.from(errorY),
    lost: frames - errorX.length,
    frames,
    rmsPx: enough ? rmsPerAxis(Float64Array.from(errorX), Float64Array.from(errorY)).value : undefined,
    boundPx: setting.photons ? leastError({ ...scene, backgroundE, pixelNoiseE: noiseE }) : undefined,
    response: enough ? slopeOf(truth, measured) : undefined,
  };
}

function sceneOf(rig: Rig, { ringPx, clipped, mend }: Lesson, withNeighbor: boolean): Scene {
  const px = mend === 'refocus' ? focusedPx : ringPx;
  const brightness = buildScene(rig, { focusShiftUm: shiftOfRing(rig, ringPx), snr }).fluxE;
  const setting: SceneSetting = {
    focusShiftUm: shiftOfRing(rig, px),
    fluxE: brightness * (mend === 'longer' ? 4 : 1),
    ...(mend === 'longer' ? { exposureS: 4 * rig.guideCamera.exposureS } : {}),
    // A perfect ring stands on the axis; the clipped beam is that of the pick-off at the edge.
    ...(clipped ? { clipDistance: 0.4 } : { offAxisMm: 0, clipDistance: 1 }),
    ...(withNeighbor ? { neighbourDistancePx: 0.75 * ringPx + 4, neighbourMagnitudeDifference: 1.5 } : {}),
  };
  return buildScene(rig, setting);
}

const asPlace = (found: { ok: boolean; x?: number; y?: number }): { x: number; y: number } | undefined =>
  found.ok && found.x !== undefined && found.y !== undefined ? { x: found.x, y: found.y } : undefined;

interface Window {
  readonly column: number;
  readonly row: number;
  readonly half: number;
  readonly threshold: number | undefined;
}

/** The mean place of the light, written out: everything that the lesson breaks stands here. */
function centerOfMass(
  pixels: Float64Array,
  width: number,
  height: number,
  { column, row, half, threshold }: Window,
): { x: number; y: number } | undefined {
  let [sum, sumX, sumY] = [0, 0, 0];
  for (let y = Math.max(0, row - half); y <= Math.min(height - 1, row + half); y++)
    for (let x = Math.max(0, column - half); x <= Math.min(width - 1, column + half); x++) {
      const value = pixels[y * width + x];
      const light = threshold === undefined ? value : Math.max(0, value - threshold);
      sum += light;
      sumX += light * x;
      sumY += light * y;
    }
  const place = { x: sumX / sum, y: sumY / sum };
  const isInside = Math.abs(place.x - column) <= width && Math.abs(place.y - row) <= height;
  return sum > 0 && isInside ? place : undefined;
}

/** Slope of the straight line through measured against true positions. */
function slopeOf(truth: readonly number[], measured: readonly number[]): number {
  const mean = (values: readonly number[]) => values.reduce((a, b) => a + b, 0) / values.length;
  const [meanTruth, meanMeasured] = [mean(truth), mean(measured)];
  let [xy, xx] = [0, 0];
  for (let i = 0; i < truth.length; i++) {
    xy += (truth[i] - meanTruth) * (measured[i] - meanMeasured);
    xx += (truth[i] - meanTruth) ** 2;
  }
  return xy / xx;
}
