/**
 * Frames of a camera: the chain from expected electrons to what it reports, made ready once and run for each
 * frame.
 */

import type { RandomStream } from '../chance/random.ts';
import { binInto, requireSquares } from '../image/binning.ts';
import {
  createImage,
  type Image,
  imageHeight,
  imagePixels,
  imageWidth,
  maxImageSide,
} from '../image/image.ts';
import { requireNames } from '../numerics/options.ts';
import { requireInteger, requirePixels } from '../numerics/require.ts';
import type { ImageSize } from '../shapes/star-plan.ts';
import { type Camera, resolveCamera } from './camera.ts';
import { prepareCollection } from './collect-charge.ts';
import { prepareReadOut } from './read-out.ts';
import { preparePixelMaps, requireOrigin, type SensorWindow } from './sensor/sensor-pixels.ts';

/**
 * A camera made ready for frames of one size. Its width and height are those of the light, in sensor pixels.
 */
export interface Exposure extends ImageSize {
  /** Sides of the frame, px: the sides of the light over the binning factor. */
  readonly frameWidth: number;
  /** Rows of a frame, px. */
  readonly frameHeight: number;
  /**
   * Overwrite `out` with one frame in electrons. The frame is a function of the name of `random`, of which
   * the children 'photon', 'read', 'row', 'hot' and 'cosmic' are drawn: the same stream gives the same frame,
   * so give each frame a stream of its own. What one source draws does not depend on whether another is on.
   *
   * @param out       row-major pixels, frameWidth * frameHeight; may be `expected` itself where nothing is binned
   * @param expected expected electrons of star and sky in each pixel (without dark), width * height, from 0
   *   to 1e12
   * @param originX   column of the sensor on which the first pixel lies; default: that of the window
   * @param originY   row of the sensor on which the first pixel lies; default: that of the window
   * @throws RangeError with position and value of a pixel that is negative, not finite or above 1e12
   */
  exposeInto(
    out: Float64Array,
    expected: Float64Array,
    random: RandomStream,
    originX?: number,
    originY?: number,
  ): void;
}

/**
 * Make a camera ready for many frames of one size. A frame allocates its streams and nothing else; a stamp
 * that moves over the sensor draws the fixed pattern of a new place once.
 *
 * ```ts
 * const exposure = prepareExposure(defaultCamera, { width: 32, height: 32 })
 * const frame = new Float64Array(32 * 32)
 * for (let i = 0; i < 1000; i++) exposure.exposeInto(frame, expected, randomStream('sweep', 'trial', i))
 * ```
 * @param window size of the light and its place on the sensor, in sensor pixels; sides and origin are
 *   multiples of the binning factor
 * @throws RangeError or TypeError naming the field of the camera or window that is out of range
 */
export function prepareExposure(camera: Camera, window: SensorWindow): Exposure {
  requireNames('window', window, 'width height originX originY');
  const resolved = resolveCamera(camera);
  const { width, height, originX: firstX = 0, originY: firstY = 0 } = window;
  const { factor, when } = resolved.binning;
  requireInteger('width', width, 1, maxImageSide);
  requireInteger('height', height, 1, maxImageSide);
  requireSquares('width', width, factor);
  requireSquares('height', height, factor);
  const pixels = width * height;
  const frameWidth = width / factor;
  const frameHeight = height / factor;

  const maps = preparePixelMaps(resolved, { width, height });
  const moveTo = (originX: number, originY: number): void => {
    requireOrigin(originX, originY);
    requireSquares('originX', originX, factor);
    requireSquares('originY', originY, factor);
    maps.moveTo(originX, originY);
  };
  moveTo(firstX, firstY);

  const collect = prepareCollection(resolved, { width, height }, maps);
  const beforeRead = factor > 1 && when === 'before-read';
  const afterRead = factor > 1 && when === 'after-read';
  const readSize = beforeRead ? { width: frameWidth, height: frameHeight } : { width, height };
  const readOut = prepareReadOut(resolved, readSize, maps, beforeRead ? factor : 1);
  const charge = factor > 1 ? new Float64Array(pixels) : undefined;

  return {
    width,
    height,
    frameWidth,
    frameHeight,
    exposeInto(out, expected, random, originX = firstX, originY = firstY) {
      requirePixels('out', out, frameWidth * frameHeight);
      requirePixels('expected', expected, pixels);
      moveTo(originX, originY);
      const held = charge ?? out;
      collect(held, expected, random);
      if (beforeRead) binInto(out, held, width, factor);
      readOut(afterRead ? held : out, beforeRead ? out : held, random);
      if (afterRead) binInto(out, held, width, factor);
    },
  };
}

/**
 * One frame of the camera, in electrons: what it reports after everything that the camera's fields describe.
 * Its mean is `expected` plus the dark electrons, as long as nothing saturates.
 *
 * ```ts
 * const sky = createImage(24, 16, new Float64Array(24 * 16).fill(20))
 * const frame = exposeFrame(sky, defaultCamera, randomStream('frame', 1))
 * ```
 * @param expected expected electrons of star and sky in each pixel of the sensor, from 0 to 1e12; not
 *   modified
 * @param random    the same stream gives the same frame: give each frame a stream of its own
 * @param origin    pixel of the sensor on which the first pixel lies. Default (0, 0)
 * @returns a new image; of the same size, or that over the binning factor
 * @throws RangeError with position and value of a pixel out of range; RangeError or TypeError for the camera
 */
export function exposeFrame(
  expected: Image,
  camera: Camera,
  random: RandomStream,
  origin: { readonly originX?: number; readonly originY?: number } = {},
): Image {
  const size = { width: imageWidth(expected), height: imageHeight(expected) };
  const exposure = prepareExposure(camera, { ...origin, ...size });
  const frame = createImage(exposure.frameWidth, exposure.frameHeight);
  exposure.exposeInto(frame.data, imagePixels(expected), random);
  return frame;
}
