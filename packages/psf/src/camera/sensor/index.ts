/**
 * What differs from pixel to pixel of one sensor, the same on every frame.
 *
 * sensor-pixels    what is fixed in the pixels of one sensor
 * sensor-map       a number for each pixel of a sensor, the same on every frame
 * hot-pixels       pixels with a dark current of their own
 * read-noise-tail  pixels of more read noise than the others
 * fixed-pattern    response and offset from pixel to pixel
 */

export type { HotPixels } from './hot-pixels.ts';
export type { ReadNoiseTail } from './read-noise-tail.ts';
export {
  type SensorPixels,
  type SensorWindow,
  sensorPixels,
} from './sensor-pixels.ts';
