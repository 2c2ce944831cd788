/**
 * From a rig and a star to the error of its position, the focus limit and the advice.
 *
 * rig-schema        what stands in a rig file: names, units, ranges, defaults; its JSON Schema
 * rig               reading a rig file, all faults at once
 * rig-fault         what is wrong with one, in words
 * rig-quantity      the kinds of numbers in one
 * rig-pickoff       its pick-off, and whether that can exist
 * filters           its filters: focus shifts in um, in steps or by glass
 * temperature       what a falling temperature does to the focus
 * scene             rig + star + focus shift -> what the guide camera is expected to see
 * scene-shape       which shape draws the star, where its centre lies, how far it reaches
 * matched-snr       the SNR of a star's image, and the flux that gives one
 * estimators        the ways of measuring, set up for a scene
 * border-background the background as measured on the frame itself
 * simulated-frames  noisy guide frames of a scene, by trial number
 * measure-error     many trials of a scene -> bias, scatter, rms, lost fraction
 * error-tally       one estimator's errors over many frames, and what they come to
 * least-error       the least possible error of a scene (Cramer-Rao bound)
 * statistics        means, rms and fractions with their uncertainty
 * sweep             the error over a grid: cells run here or by workers, rows as they are ready
 * sweep-grid        what a sweep varies, and its cells
 * sweep-cell        one cell: plain data in, plain rows out
 * sweep-fingerprint a short name for a sweep: version, rig and plan
 * sweep-record      the result file of a sweep, finished or broken off
 * sweep-table       rows as a flat table; CSV
 * arrow             ('@holdfast/sim/arrow') rows as an Apache Arrow file
 * workers           ('@holdfast/sim/workers') a pool of threads or module workers for a sweep
 * cell-worker       ('@holdfast/sim/cell-worker') entry of such a worker
 * analytic-error    an estimator's error without a trial, from the expected frame
 * budget            position error -> growth and shape of the stars in the picture, term by term
 * chased-air        what the loop adds by following moving air
 * budget-share      how much of the budget an error spends, and on what
 * limit-search      root search on a noisy function
 * focus-limit       the largest focus shift within the budget
 * standing          how the guide star does at one setting, against the budget
 * trim              cheap changes that bring it back into the budget
 * several-stars     the error when several stars are averaged
 * advice            keep, trim or refocus for each filter
 * filter-change     from one filter to the next: what becomes of the guide star
 * best-guide-focus  the one setting of the guide camera that suits all filters best
 * guide-focus-search  where that is, on a curve
 * focus-curve       the spent share of the budget over the focus shift, tabulated
 * curve-limits      where on that curve the budget ends
 * monotone-cubic    a smooth curve through points
 * jackknife         what chance does to a result, by leaving trials out
 * night-advice      the advice with what takes longer: every remedy, odds of a guide star, a focus run
 * focus-run-effect  what a focus run does to guiding
 * not-modelled      what the numbers do not know of
 * frame/            a real frame: FITS in and out, its stars measured; a map of its own
 * number-text       numbers for people, with their uncertainty
 * version           version of the library
 * long-work         progress, cancelling, giving others their turn
 *
 * The pick-off
 *
 * pickoff               does it shade the main sensor, how deep may it reach, what does its guide star get
 * pickoff-options       beam, sensor, mirror and where it stands, checked
 * pickoff-depth         how deep it may reach, by its rotation around the sensor
 * pickoff-trade-off     depth against shadow, light and shape of the guide star
 * pickoff-star          off-axis distance, light and aberrations of its guide star
 * pickoff-star-error    how well that star's position can be known at best
 * pickoff-design        the telescope's design as a rig names it
 * pickoff-exit-pupil    where the cone of light of each star comes from
 * shadow                which share of a pixel's light the mirror takes away
 * shadow-worst          the pixel that loses most
 * shadow-polygon        polygons against discs and half-planes
 * angle                 angles with the same bits in every engine
 *
 * Is there a star
 *
 * guide-star-odds       expected number of stars in the guide field, odds of one and of three
 * guide-star-limit      how faint a guide star may be
 * guide-star-chance     odds from an expected number and its uncertainty
 * star-counts           stars per square degree, and how well that is known
 * star-counts-formula   away from the Milky Way: Bahcall and Soneira
 * star-counts-table     at any latitude from V = 15 on: Allen's table
 * star-list             a list of the user's own
 *
 * Guiding in time
 *
 * tracking              how far the star strays, and what events do: focus runs, filter changes, lost stars
 * tracking-options      what it is told, checked
 * tracking-events       events as functions of time
 * tracking-frames       guide frames drawn and measured, or their known error
 * tracking-guide        search, hold, resume, set point
 * tracking-run          one run, step by step
 * tracking-picture      growth and elongation in each exposure of the main camera
 * tracking-report       what runs come to
 * tracking-statistics   rms, peaks and offsets over runs
 * control-loop          gain, integral term, dead zone, limits
 * loop-response         stability, error transfer and noise of the loop, by theory
 * mount                 drift, periodic error, backlash, correction speed
 * wind-gusts            gusts as a Gauss-Markov process
 * image-motion          motion of the star by moving air, exposure by exposure
 * image-motion-spectrum its power spectrum
 */
export {
  type AdviseOptions,
  adviseRefocus,
  adviseStar,
  type CompleteAdvice,
  type FilterAdvice,
  type Outcome,
  type RefocusAdvice,
  type StarAdvice,
} from './advice.ts';
export { analyticErrorPx } from './analytic-error.ts';
export {
  type BestGuideFocus,
  type BestGuideFocusOptions,
  bestGuideFocus,
  type FilterShare,
  type GuideFocusSetting,
} from './best-guide-focus.ts';
export {
  type AxisRms,
  type BlurTerm,
  type ImageAxes,
  type ImageGrowth,
  imageGrowth,
  loopNoiseFactor,
  rmsWithinBudgetArcsec,
} from './budget.ts';
export { type BudgetShare, type BudgetTerm, budgetShare } from './budget-share.ts';
export { type ChasedAirOptions, chasedAirArcsec } from './chased-air.ts';
export type { PositionError } from './error-tally.ts';
export { type EstimatorSetting, estimatorLabels, prepareEstimator } from './estimators.ts';
export type { FilterChange } from './filter-change.ts';
export type { RigFilter } from './filters.ts';
export {
  type FocusLimit,
  type FocusLimitOptions,
  focusLimit,
  type LimitedBy,
  type SideLimit,
} from './focus-limit.ts';
export type { FocusRunEffect, FocusRunOutcome } from './focus-run-effect.ts';
export * from './frame/index.ts';
export type { GuideFocusAim } from './guide-focus-search.ts';
export type { GuideStarChance } from './guide-star-chance.ts';
export {
  type FaintestStar,
  type GuideStarLimit,
  type GuideStarLimitOptions,
  guideStarLimit,
} from './guide-star-limit.ts';
export {
  type GuideStarOdds,
  type GuideStarPlace,
  guideStarOdds,
  guideStarOddsOf,
} from './guide-star-odds.ts';
export { leastError } from './least-error.ts';
export type { LongWorkOptions, Progress } from './long-work.ts';
export { compareEstimators, measureError, type TrialOptions } from './measure-error.ts';
export { defaultMount, type Mount, type PeriodicError, perfectMount } from './mount.ts';
export {
  type AdviseNightOptions,
  adviseNight,
  type FilterRemedies,
  type NightAdvice,
} from './night-advice.ts';
export { percent, significant, withError } from './number-text.ts';
export { type PickoffClearance, type PickoffShadow, pickoffClearance, pickoffShadow } from './pickoff.ts';
export { designOfRig } from './pickoff-design.ts';
export type { PickoffMount, PickoffOptions, TelescopeDesign } from './pickoff-options.ts';
export {
  type PickoffDepth,
  type PickoffTradeOff,
  type PickoffTradeOffOptions,
  pickoffTradeOff,
} from './pickoff-trade-off.ts';
export { parseRig } from './rig.ts';
export { RigError, type RigFault } from './rig-fault.ts';
export { type EstimatorName, estimatorNames, type Rig, rigJsonSchema } from './rig-schema.ts';
export { buildScene, prepareScene, type Scene, type SceneSetting } from './scene.ts';
export { type SimulatedFrame, simulateFrames } from './simulated-frames.ts';
export type { Standing } from './standing.ts';
export { type StarCount, type StarCountOptions, type StarCountSource, starsPerDeg2 } from './star-counts.ts';
export {
  type GuideFieldAt,
  type ListedStar,
  readStarList,
  type StarList,
  starsInField,
} from './star-list.ts';
export {
  type Estimate,
  fractionOf,
  type Interval,
  intervalOf,
  meanOf,
  rmsPerAxis,
  scatterOf,
} from './statistics.ts';
export {
  type CellRunner,
  cellsOfPart,
  type SweepOptions,
  type SweepPart,
  type SweepPlan,
  type SweepRun,
  sweep,
  sweepCells,
} from './sweep.ts';
export { runCell, type SceneDescription, type SweepCell, type SweepRow } from './sweep-cell.ts';
export { sweepFingerprint } from './sweep-fingerprint.ts';
export { type SweepAxes, sceneAxisNames } from './sweep-grid.ts';
export { inCellOrder, readSweepRecord, type SweepRecord, sweepLines } from './sweep-record.ts';
export { sweepFromCsv, sweepToCsv } from './sweep-table.ts';
export {
  type SecondMirror,
  type ThermalDrift,
  type ThermalFocusOptions,
  thermalDrift,
  thermalFocusUmPerK,
} from './temperature.ts';
export { type TrackResult, trackStar } from './tracking.ts';
export type { TrackEvent, TrackSpan } from './tracking-events.ts';
export type {
  AirSetting,
  LoopSetting,
  PictureExposures,
  TrackOptions,
  TrackPolicy,
} from './tracking-options.ts';
export type { EventEffect, PictureEffect, TrackNumbers, TrackPair } from './tracking-report.ts';
export type { FrameSeries, TrackSeries } from './tracking-run.ts';
export { smallestTrims, type Trim, type TrimKind, type TrimReach, trimKinds } from './trim.ts';
export { version } from './version.ts';
