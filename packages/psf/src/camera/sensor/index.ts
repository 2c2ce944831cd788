/**
 * What differs from pixel to pixel of one sensor and is the same in every frame.
 *
 * sensor-pixels    fixed pattern: response, offset, dark current and read noise of each pixel
 * sensor-map       one number per pixel of a sensor, drawn by tiles
 * hot-pixels       pixels with extra dark current
 * read-noise-tail  pixels with more read noise than the others
 */

export type { HotPixels } from './hot-pixels.ts';
export type { ReadNoiseTail } from './read-noise-tail.ts';
