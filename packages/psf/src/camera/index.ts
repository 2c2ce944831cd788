/**
 * From expected electrons to a camera frame.
 *
 * camera          a camera at one setting: read noise, gain, full well, dark current
 * exposure        frames of that camera
 * one-draw        a faster way to the same frames: one table look-up per pixel
 * pixel-tables    the tables for that: photon noise, read noise and rounding as one distribution
 * table-memory    these tables in the memory of compiled loops, which look them up
 * collect-charge  from light to the electrons that each pixel holds
 * read-out        from these to whole ADU, and back to electrons
 * adu             from electrons to ADU, and back
 * output-range    the range of ADU that a camera can report
 * non-linearity   light lost near the full well
 * cosmic-rays     muons and their tracks
 * sensor/         what differs from pixel to pixel of one sensor: fixed pattern, hot pixels, read-noise tail
 */

export { aduToElectrons, frameToAdu } from './adu.ts';
export { type Camera, defaultCamera, pixelNoiseE, saturationE } from './camera.ts';
export type { CosmicRays } from './cosmic-rays.ts';
export { type Exposure, exposeFrame, prepareExposure } from './exposure.ts';
export type { NonLinearity } from './non-linearity.ts';
export * from './sensor/index.ts';
