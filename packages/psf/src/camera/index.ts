/**
 * The camera: from expected electrons to a frame.
 *
 * camera          a camera at one setting: noise, limits, pixels
 * exposure        frames of it: from expected electrons to what it reports
 * collect-charge  from light to what each pixel holds and delivers
 * read-out        from there to whole numbers, and back to electrons
 * one-draw        frames by one look into a table for each pixel: the fast way for many
 * pixel-tables    what a pixel reports, noise and rounding included, as one distribution
 * adu             between electrons and the numbers of the output
 * output-range    which numbers those can be
 * non-linearity   what is lost near the full well
 * cosmic-rays     muons and their tracks
 * sensor/         What differs from pixel to pixel of one sensor, the same on every frame.
 */

export { aduToElectrons, frameToAdu } from './adu.ts';
export { type Camera, defaultCamera, pixelNoiseE, saturationE } from './camera.ts';
export type { CosmicRays } from './cosmic-rays.ts';
export { type Exposure, exposeFrame, prepareExposure } from './exposure.ts';
export type { NonLinearity } from './non-linearity.ts';
export { collectedE, deliveredE } from './non-linearity.ts';
export { type OneDraw, type PreparedLight, prepareOneDraw } from './one-draw.ts';
export * from './sensor/index.ts';
