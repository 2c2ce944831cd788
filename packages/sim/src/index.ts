/**
 * From a rig and a star to the error of its position, the focus limit and the advice. Each folder opens with
 * a map of its own.
 *
 * ```text
 * rig/          a rig file, read and checked; its filters; what temperature does
 * trials/       one star at one setting: expected view, noisy frames, error of its position, least possible error
 * budget/       what an error of the position costs the picture, beside moving air
 * motion/       what moves the star, and what a loop leaves of it
 * sweep/        the error over a grid, by workers, resumable
 * focus/        how far out of focus, and where to set it: the focus limit, the best guide focus
 * advice/       who decides: keep, trim or refocus for each filter
 * pickoff/      shadow and star of the pick-off mirror
 * odds/         is there a guide star
 * tracking/     guiding in time, through focus runs and filter changes
 * frame/        real frames: FITS in and out, their stars measured
 * long-work     progress, canceling, yielding to the event loop
 * number-text   numbers for people, with their uncertainty
 * internal      ('@holdfast/sim/internal') what the examples and tests need besides
 * version       version of the library
 * ```
 *
 * @module @holdfast/sim
 */
export * from './advice/index.ts';
export * from './budget/index.ts';
export * from './focus/index.ts';
export * from './frame/index.ts';
export type { CancelSignal, LongWorkOptions, Progress } from './long-work.ts';
export * from './motion/index.ts';
export * from './odds/index.ts';
export * from './pickoff/index.ts';
export * from './rig/index.ts';
export * from './sweep/index.ts';
export * from './tracking/index.ts';
export * from './trials/index.ts';
export { version } from './version.ts';
