/**
 * Guiding in time: the loop, the mount, the air, and what focus runs and filter changes do.
 *
 * tracking               how far the star strays, and what events do: focus runs, filter changes, lost stars
 * tracking-options       what it is told, checked
 * tracking-events        events as functions of time
 * tracking-frames        guide frames drawn and measured, or their known error
 * tracking-guide         search, pause, resume, set point
 * tracking-run           one run, step by step
 * tracking-picture       growth and elongation in each exposure of the main camera
 * tracking-report        what runs come to
 * tracking-statistics    rms, peaks and offsets over runs
 * control-loop           gain, integral term, dead zone, limits
 */
export { type TrackResult, trackStar } from './tracking.ts';
export type { TrackEvent, TrackSpan } from './tracking-events.ts';
export type {
  AirSetting,
  LoopSetting,
  PictureExposures,
  TrackOptions,
  TrackPolicy,
} from './tracking-options.ts';
export type { EventEffect, PictureEffect, TrackNumbers } from './tracking-report.ts';
export type { FrameSeries, TrackSeries } from './tracking-run.ts';
