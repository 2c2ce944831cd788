/**
 * The array that passes between all parts, and light laid onto its pixels.
 *
 * image            the array that passes between all parts; the only place that looks at strides
 * binning          squares of pixels as one
 * blurred-edge     a point and a step, blurred and integrated over pixels
 * blurred-disc     discs blurred by a Gaussian, by points of their edge
 * blur-quadrature  how many points a blurred picture needs
 * circle-overlap   the area that a circle shares with each pixel
 * spot-diagram     rays made into light: blurred, on pixels
 */

export type { Binning } from './binning.ts';
export { binFrame } from './binning.ts';
export { createImage, type Image, imageHeight, imagePixels, imageWidth } from './image.ts';
export type { SpotDiagram } from './spot-diagram.ts';
