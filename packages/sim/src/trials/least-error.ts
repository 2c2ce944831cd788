/** The least possible error of the star's position in a scene, whatever the estimator. */
import { positionBound } from '@holdfast/centroid';
import { createImage, type Image } from '@holdfast/psf';
import { prepareKeptScene } from './kept-star.ts';
import type { Scene } from './scene.ts';

/** Step of the numerical derivative, px: its error is of the order of step^2. */
const step = 0.01;

/** Beyond the radius that holds nearly all of the light, px. */
const marginPx = 4;

/**
 * Places of the star in its pixel, columns even, rows 1 and 3 of 4 in turn: of a shape that is nearly its own
 * mirror image, as good as all 16 places of the 4 x 4 grid (within 1e-7 from a FWHM of 1.2 px on, and far
 * better from 2.5 px on; measured).
 */
const places = [
  [0.125, 0.125],
  [0.375, 0.625],
  [0.625, 0.125],
  [0.875, 0.625],
] as const;

/**
 * Cramer-Rao bound of the position, one axis, px: root mean square over both axes and over star positions in
 * the pixel, flux and background known.
 */
export function leastError(whole: Scene): number {
  const scene = aroundStar(whole);
  const draw = prepareKeptScene(scene);
  const images = [0, 1, 2].map(() => createImage(scene.width, scene.height));
  const [image, gradientX, gradientY] = images;
  const noise = { readNoiseE: scene.pixelNoiseE, backgroundE: scene.backgroundE };
  const back = new Float64Array(scene.width * scene.height);
  const differentiate = (into: Image, x: number, y: number, dx: number, dy: number) => {
    draw(into.data, x + dx, y + dy, scene.fluxE);
    draw(back, x - dx, y - dy, scene.fluxE);
    for (let k = 0; k < back.length; k++) into.data[k] = (into.data[k] - back[k]) / (2 * step);
  };
  let sum = 0;
  // The bound of a star that is blurred over pixels is the same at every place, to 1e-6 at a FWHM of 2 px
  // (exp(-2 pi^2 s^2)).
  const used = scene.blurFwhmPx >= 2 ? places.slice(0, 1) : places;
  for (const [column, row] of used) {
    const x = scene.column - 0.5 + column;
    const y = scene.row - 0.5 + row;
    draw(image.data, x, y, scene.fluxE);
    differentiate(gradientX, x, y, step, 0);
    differentiate(gradientY, x, y, 0, step);
    const bound = positionBound({ image, gradientX, gradientY }, noise);
    sum += (bound.sigmaX ** 2 + bound.sigmaY ** 2) / 2;
  }
  return Math.sqrt(sum / used.length);
}

/**
 * The scene on a stamp that holds its star, and no wide window around it: no other pixel tells of the
 * position.
 */
function aroundStar(scene: Scene): Scene {
  const half = Math.min(scene.column, Math.ceil(scene.radiusPx + marginPx));
  return { ...scene, width: 2 * half + 1, height: 2 * half + 1, column: half, row: half };
}
