/**
 * The fixed pattern: response, offset, own dark current and read noise of each pixel of one sensor, on every
 * frame alike, in the terms of EMVA 1288. Pixels are independent; the patterns of whole rows and columns,
 * which the standard separates since release 4, are left out.
 */

import { type RandomStream, randomStream } from '../../chance/random.ts';
import { maxImageSide } from '../../image/image.ts';
import { requireInteger } from '../../numerics/require.ts';
import type { ImageSize } from '../../shapes/star-plan.ts';
import { type Camera, type ResolvedCamera, resolveCamera } from '../camera.ts';
import { drawHotEPerS } from './hot-pixels.ts';
import { drawNoiseRatio } from './read-noise-tail.ts';
import { prepareSensorMap, type SensorMap } from './sensor-map.ts';

/** A stamp as a part of the sensor, all in sensor pixels, before any binning. */
export interface SensorWindow extends ImageSize {
  /** Column of the sensor on which the stamp's first pixel lies. Default 0. */
  readonly originX?: number;
  /** Row of the sensor on which the stamp's first pixel lies. Default 0. */
  readonly originY?: number;
}

/** What is fixed in each pixel of a window of the sensor, row by row. */
export interface SensorPixels {
  /** Electrons delivered for each electron held, relative to the mean pixel (PRNU). */
  readonly response: Float64Array;
  /** Electrons that are always added (DSNU). */
  readonly offsetE: Float64Array;
  /** Dark current beyond that of the camera, electrons per second; > 0 in hot pixels. */
  readonly hotEPerS: Float64Array;
  /** Read noise, electrons rms. */
  readonly readNoiseE: Float64Array;
}

/** The maps that a camera needs for its frames; those in which all pixels are alike are left out. */
export interface PixelMaps {
  readonly response: Float64Array | undefined;
  readonly offsetE: Float64Array | undefined;
  readonly hotEPerS: Float64Array | undefined;
  readonly readNoiseE: Float64Array | undefined;
  moveTo(originX: number, originY: number): void;
}

export function preparePixelMaps(camera: ResolvedCamera, size: ImageSize): PixelMaps {
  const { prnu, dsnuE, hotPixels, readNoiseE, readNoiseTail, sensorSeed } = camera;
  const stream = (name: string) => randomStream(sensorSeed, 'sensor', name);
  const response =
    prnu > 0 && prepareSensorMap(stream('response'), (random) => drawResponse(prnu, random), size);
  const offset =
    dsnuE > 0 && prepareSensorMap(stream('offset'), (random) => drawOffsetE(dsnuE, random), size);
  const hot = hotPixels && prepareSensorMap(stream('hot'), (random) => drawHotEPerS(hotPixels, random), size);
  const noise =
    readNoiseTail &&
    prepareSensorMap(stream('noise'), (random) => readNoiseE * drawNoiseRatio(readNoiseTail, random), size);
  const maps = [response, offset, hot, noise].filter((map): map is SensorMap => Boolean(map));
  return {
    response: response ? response.values : undefined,
    offsetE: offset ? offset.values : undefined,
    hotEPerS: hot ? hot.values : undefined,
    readNoiseE: noise ? noise.values : undefined,
    moveTo(originX, originY) {
      for (let i = 0; i < maps.length; i++) maps[i].moveTo(originX, originY);
    },
  };
}

/**
 * What is fixed in the pixels of a window of a camera's sensor: what a perfect calibration would find. The
 * camera's `sensorSeed` names the sensor; a window elsewhere or of another size sees the same pixels where
 * the two overlap.
 *
 * ```ts
 * const camera = { ...defaultCamera, hotPixels: { fraction: 0.01, meanEPerS: 50 } }
 * const { hotEPerS } = sensorPixels(camera, { width: 64, height: 48, originX: 300, originY: 200 })
 * const valid = Uint8Array.from(hotEPerS, (rate) => (rate < 20 ? 1 : 0)) // for estimators that leave pixels out
 * ```
 * @throws RangeError or TypeError naming what is out of range
 */
export function sensorPixels(camera: Camera, window: SensorWindow): SensorPixels {
  const resolved = resolveCamera(camera);
  requireInteger('width', window.width, 1, maxImageSide);
  requireInteger('height', window.height, 1, maxImageSide);
  const { originX = 0, originY = 0 } = window;
  requireOrigin(originX, originY);
  const maps = preparePixelMaps(resolved, window);
  maps.moveTo(originX, originY);
  const count = window.width * window.height;
  const all = (value: number) => new Float64Array(count).fill(value);
  return {
    response: maps.response ?? all(1),
    offsetE: maps.offsetE ?? all(0),
    hotEPerS: maps.hotEPerS ?? all(0),
    readNoiseE: maps.readNoiseE ?? all(resolved.readNoiseE),
  };
}

export function requireOrigin(originX: number, originY: number): void {
  requireInteger('originX', originX, 0, maxImageSide);
  requireInteger('originY', originY, 0, maxImageSide);
}

/**
 * Response of one pixel relative to the mean pixel, 1 + prnu z with a normal z: what it delivers for each
 * electron that it holds. Not below 0, which at the largest PRNU of a camera cuts off one pixel in 3.5
 * million.
 */
const drawResponse = (prnu: number, random: RandomStream): number => Math.max(0, 1 + prnu * random.normal());

/** Offset of one pixel, electrons: normal, of mean 0, independent of exposure. */
const drawOffsetE = (dsnuE: number, random: RandomStream): number => dsnuE * random.normal();
