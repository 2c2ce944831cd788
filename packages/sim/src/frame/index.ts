/**
 * A real frame: its file in and out, and the stars measured in it.
 *
 * files/     a frame from its file: FITS, pictures, films; many colors made one image
 * search/    the stars of a frame that share their size
 * stars/     the stars of one frame: position, size, light, coma, each measured with its neighbors subtracted
 * rings/     the ring of one star: diameters, hole and blur, fitted to the whole picture
 * wavefront/ the wavefront of one star, and what clips its beam, by a fit of its ring
 * sequence/  many frames of the same stars: motion, noise, focus over time; focuser calibration
 */
export * from './files/index.ts';
export * from './rings/index.ts';
export * from './sequence/index.ts';
export * from './stars/index.ts';
export * from './wavefront/index.ts';
