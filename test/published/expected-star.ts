/** Expected stars with their gradients, drawn for checks of position accuracy. */
import type { ExpectedStar } from '@holdfast/centroid';
import type { Image } from '@holdfast/psf';
import { createImage, prepareStar, type StarShape } from '@holdfast/psf';

/** Rms width of a Gaussian of FWHM 1. */
export const sigmaPerFwhm = 1 / (2 * Math.sqrt(2 * Math.log(2)));

/** Where on the stamp, and how much light. */
export interface Placed {
  readonly side: number;
  readonly x: number;
  readonly y: number;
  readonly flux: number;
}

const step = 1e-3;

/**
 * A star and its change per px, from renders `step` to either side: the error of the gradient is of order
 * step^2 / 6.
 */
export function expectedStar(
  shape: StarShape,
  { side, x, y, flux }: Placed,
): Record<keyof ExpectedStar, Image> {
  const plan = prepareStar(shape, { width: side, height: side });
  const draw = (dx: number, dy: number) => {
    const image = createImage(side, side);
    plan.renderInto(image, x + dx, y + dy, flux);
    return image;
  };
  const difference = (dx: number, dy: number) => {
    const before = draw(-dx, -dy).data;
    const after = draw(dx, dy).data;
    return createImage(
      side,
      side,
      after.map((v, k) => (v - before[k]) / (2 * step)),
    );
  };
  return { image: draw(0, 0), gradientX: difference(step, 0), gradientY: difference(0, step) };
}

/** A circular Gaussian of rms width `sigma` before the pixel. */
export const gaussian = (sigma: number): StarShape => ({ kind: 'gaussian', fwhmPx: sigma / sigmaPerFwhm });
