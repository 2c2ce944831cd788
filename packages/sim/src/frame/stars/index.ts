/**
 * The stars of one frame, each measured with its neighbors subtracted.
 *
 * measure-frame    every star of a frame, each measured with its neighbors taken off
 * measured-star    one star: positions, size, sky, ring, coma, focus
 * missing-pixels   pixels that are missing inside a star, filled by its own shape
 * frame-region     a part of a frame
 * star-window      window and sky of a star, other stars taken off
 * window-light     flux, peak, half-light diameter, moments; how much of a comet it is
 * beside-light     light beyond a ring's edge on one side: a neighbor's
 * neighbor-light   the light of the other stars, so that it can be taken off
 * crowded-stars    stars that are fitted in pairs, since their light mixes
 * close-pair       two stars fitted together, each with the shape that the frame's stars share
 * frame-positions  a star's position by every estimator, each set up for its window
 * rig-camera       what measuring a frame needs, by the rig and the frame's header
 * star-to-judge    which star an advice on the focus may rest on, or why none
 * likeness         what a star looks like, as it can be drawn
 * coma-measure     how much of a comet a star is
 * frame-rig        the rig that took a frame, by its own header; what is missing, by name
 */

export type { ComaEstimate } from './coma-measure.ts';
export type { FramePositions } from './frame-positions.ts';
export type { FrameRegion } from './frame-region.ts';
export { type FrameRig, type GivenForFrame, type MissingForFrame, rigOfFrame } from './frame-rig.ts';
export type { Likeness } from './likeness.ts';
export {
  type FrameSurvey,
  type MeasureFrameOptions,
  measureFrame,
  surveyFrame,
} from './measure-frame.ts';
export type { MeasuredStar } from './measured-star.ts';
export { type FrameCamera, type RigCamera, rigCamera } from './rig-camera.ts';
export type { ThirdMoments, WindowLight } from './window-light.ts';
