/**
 * Many frames of the same stars: motion, noise, focus over time; focuser calibration.
 *
 * sequence             many frames of the same stars: positions, motion, noise, focus against time
 * sequence-focus       frames in order of time; the focus; what it all comes to
 * sequence-order       frames in order of time; the focus; what it all comes to
 * sequence-result      frames in order of time; the focus; what it all comes to
 * sequence-records     what is kept of each frame
 * sequence-split       what stars do together, and each alone
 * follow-stars         the same stars on frame after frame
 * match-stars          the same stars on frame after frame
 * common-motion        what stars do together, and each alone
 * motion-steps         jumps of all stars alike
 * transparency         how much of the stars' light each frame has
 * noise-split          what stars do together, and each alone
 * backlash             what the focuser loses on a change of direction
 * focuser-calibration um of focus shift for a step, position of focus, obstruction, from frames at known
 * positions
 */

export {
  type CalibrationFailureReason,
  type CalibrationResult,
  calibrateFocuser,
  type FocusBranch,
  type FocuserCalibration,
  type FocuserOptions,
  type FocuserPoint,
  focuserPoints,
} from './focuser-calibration.ts';
export type { MotionStep } from './motion-steps.ts';
export { measureSequence, type SequenceFrame, type SequenceOptions } from './sequence.ts';
export type { FocusDrift } from './sequence-focus.ts';
export type { SequenceFrameRecord, TrackPoint } from './sequence-records.ts';
export type { SequenceFailure, SequenceResult, SequenceStar } from './sequence-result.ts';
export type { AxisMotion, EstimatorSplit, NoiseSource, StarSplit } from './sequence-split.ts';
