/**
 * Optics by formula, on and off axis.
 *
 * optics          F-number, plate scale, ring diameter, waves of defocus
 * depth-of-focus  how far out of focus counts as blurred
 * glass           focus shift and spherical aberration of a filter, window or prism
 * off-axis        coma, astigmatism and field curvature by telescope design
 * secondary-spectrum  how far each color focuses behind green
 * sphere-pair     the same for two spherical mirrors behind a corrector plate
 */

export { type DepthOfFocusCriterion, type DepthOfFocusOptions, depthOfFocusUm } from './depth-of-focus.ts';
export {
  type Glass,
  type GlassPlateAberration,
  type GlassPlateOptions,
  glassFocusShiftUm,
  glassIndex,
  glassPlateAberration,
} from './glass.ts';
export {
  type CassegrainOptions,
  type CatadioptricOptions,
  type CorrectedOptions,
  type OffAxisAberrations,
  type OffAxisOptions,
  offAxisAberrations,
  type ParaboloidOptions,
  type RefractorOptions,
} from './off-axis.ts';
export {
  airyFwhmUm,
  type DefocusBlur,
  type DefocusOptions,
  defocusBlur,
  fNumber,
  focusShiftFromRing,
  plateScaleArcsecPerPx,
  type TelescopeLengths,
} from './optics.ts';
export { achromatSpread, colorFocusUm } from './secondary-spectrum.ts';
