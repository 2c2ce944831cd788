/**
 * Optics by formula, on the axis and off it.
 *
 * optics          F-number, plate scale, ring diameter, waves of defocus
 * depth-of-focus  how far out of focus counts as blurred
 * glass           how far a plate of glass moves the focus
 * glass-plate     the spherical aberration of a filter or window
 * off-axis        coma, astigmatism and field curvature by telescope design
 */

export { type DepthOfFocusCriterion, type DepthOfFocusOptions, depthOfFocusUm } from './depth-of-focus.ts';
export { type Glass, type GlassPlateOptions, glassFocusShiftUm, glassIndex } from './glass.ts';
export { type GlassPlateAberration, glassPlateAberration } from './glass-plate.ts';
export {
  type CassegrainOptions,
  type CorrectedOptions,
  type OffAxisAberrations,
  type OffAxisOptions,
  offAxisAberrations,
  type ParaboloidOptions,
} from './off-axis.ts';
export {
  airyFwhmUm,
  type DefocusBlur,
  type DefocusOptions,
  defocusBlur,
  fNumber,
  focusShiftFromRing,
  plateScaleArcsecPerPx,
} from './optics.ts';
