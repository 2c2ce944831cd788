/**
 * The pupil, the wavefront in it, and averages of both.
 *
 * pupil              what light passes: central obstruction, vanes, clipped edges, uneven illumination
 * pupil-rows         where light passes along one line of the pupil
 * pupil-moments      light that passes, its center of mass and spread
 * pupil-grid         complex amplitude on a grid of cells, with partly open cells at the edges
 * wavefront          focus shift, Zernike terms and Seidel terms as one wavefront
 * zernike            Zernike polynomials by Noll index
 * wavefront-moments  center of mass of the light, rms of the wavefront, Strehl ratio
 * mean-slope         mean slope of a sampled wavefront: where the center of mass of its image lies
 */
export type { ClipEdge, Footprint, Illumination, Pupil, Vanes } from './pupil.ts';
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
