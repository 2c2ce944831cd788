/**
 * Images, binning, and how light that is spread or blurred falls on pixels.
 *
 * image            ndarray images and their memory layout; the only file that handles strides
 * binning          sums of blocks of pixels, with their noise
 * blurred-disc     a uniform disc with a Gaussian blur, integrated over pixels
 * blurred-edge     the edge of that disc, as splines over its distance from a pixel
 * blur-quadrature  number of points that a sum of blurred light needs
 * circle-overlap   area of each pixel inside a circle
 * spot-diagram     rays turned into light on pixels, each with a Gaussian blur
 */

export type { Binning } from './binning.ts';
export { binFrame } from './binning.ts';
export { createImage, type Image } from './image.ts';
export type { SpotDiagram } from './spot-diagram.ts';
