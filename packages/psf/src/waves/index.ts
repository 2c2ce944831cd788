/**
 * The pupil, the wave that passes it, and what both do on average.
 *
 * pupil              what the light passes: obstruction, vanes, edges, uneven illumination
 * pupil-rows         where on a line through it the light passes
 * pupil-moments      how much light it passes, its middle and its spread
 * pupil-grid         the wave in it on a grid of cells with grey edges
 * wavefront          focus shift, Zernike and Seidel terms as one wave
 * zernike            Zernike polynomials by Noll's index
 * wavefront-moments  where the centre of mass of the light lands, and how sharp the wave is
 * mean-slope         where the centre of mass of an image lies, from the wavefront
 */
export type { ClipEdge, Footprint, Illumination, Pupil, Vanes } from './pupil.ts';
export { pupilGrid } from './pupil-grid.ts';
export { type PupilMoments, pupilMoments } from './pupil-moments.ts';
export { type SeidelTerms, type Wavefront, wavefrontZernikes } from './wavefront.ts';
export {
  type LightCentroid,
  lightCentroid,
  type PupilWave,
  strehlRatio,
  wavefrontRmsNm,
} from './wavefront-moments.ts';
export { nollIndex, type ZernikeOrder, zernikeOrder, zernikeValue } from './zernike.ts';
