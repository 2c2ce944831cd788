/**
 * From optics to a camera frame. Each folder opens with a map of its own.
 *
 * shapes/       Star shapes: each draws the light of one star, integrated over the pixels.
 * optics/       Optics by formula, on the axis and off it.
 * waves/        The pupil, the wave that passes it, and what both do on average.
 * diffraction/  The star as waves make it: from pupil and wavefront to pixels.
 * air/          Moving air: the blur of a long exposure, and short exposures through frozen turbulence.
 * light/        From magnitudes to electrons.
 * camera/       The camera: from expected electrons to a frame.
 * image/        The array that passes between all parts, and light laid onto its pixels.
 * chance/       Reproducible random numbers and their distributions.
 * numerics/     Mathematics and argument checks that every package uses, written once. Internal: names may change in any version.
 */

export * from './air/index.ts';
export * from './camera/index.ts';
export * from './chance/index.ts';
export * from './diffraction/index.ts';
export * from './image/index.ts';
export * from './light/index.ts';
export { exp, log } from './numerics/exp-log.ts';
export * from './optics/index.ts';
export * from './shapes/index.ts';
export * from './waves/index.ts';
