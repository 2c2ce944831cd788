/**
 * From optics to a camera frame. Each folder opens with a map of its own.
 *
 * ```text
 * optics/       F-number, plate scale, ring diameter, depth of focus, glass, off-axis aberrations
 * waves/        pupil, wavefront, Zernike polynomials, Strehl ratio
 * shapes/       star shapes: Gaussian, Moffat, annular defocus, coma, ray spot, trailed
 * diffraction/  the diffraction image of any pupil and wavefront
 * air/          seeing: long exposures, phase screens, short exposures
 * light/        photometry: from magnitudes to electrons
 * camera/       camera frames: photon noise, read noise, dark current, pixel defects
 * image/        images, binning, light on pixels
 * chance/       random streams by seed, normal and Poisson numbers
 * kernel/       inner loops compiled to WebAssembly
 * internal      ('@holdfast/psf/internal') what the sister packages need besides; no promise of stability
 * numerics/     mathematics and argument checks of all packages; internal, names may change in any version
 * ```
 *
 * @module @holdfast/psf
 */

export * from './air/index.ts';
export * from './camera/index.ts';
export * from './chance/index.ts';
export * from './diffraction/index.ts';
export * from './image/index.ts';
export * from './light/index.ts';
export * from './optics/index.ts';
export * from './shapes/index.ts';
export * from './waves/index.ts';
