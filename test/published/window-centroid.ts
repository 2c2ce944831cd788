/**
 * Center of mass of a diffraction image within square windows, lengths in lambda F: for tables that were made
 * that way.
 */
import { type Pupil, prepareStar, type Wavefront } from '@holdfast/psf';
import { unitShape } from './star-profile.ts';

export interface WindowOptions {
  readonly pupil: Pupil;
  readonly wavefront: Wavefront;
  /** Half sides of the windows, whole numbers of lambda F, ascending. */
  readonly halfSides: readonly number[];
  /** Side of the pixels. A window is the pixels whose centers lie in it, the star's own in the middle. */
  readonly pixel: number;
}

/** x of the center of mass in each window. */
export function windowCentroids({ pupil, wavefront, halfSides, pixel }: WindowOptions): number[] {
  const widest = halfSides[halfSides.length - 1];
  const half = Math.round(widest / pixel);
  const side = 2 * half + 1;
  // The field must hold the corners of the widest window.
  const accuracy = { minPupilSamples: Math.ceil((widest * Math.SQRT2) / 0.42) };
  const shape = { ...unitShape(pupil, wavefront), pixelSizeUm: pixel, accuracy };
  const image = new Float64Array(side * side);
  prepareStar(shape, { width: side, height: side }).renderInto(image, half, half, 1);
  return halfSides.map((halfSide) => {
    const reach = Math.round(halfSide / pixel);
    let light = 0;
    let moment = 0;
    for (let j = half - reach; j <= half + reach; j++)
      for (let i = half - reach; i <= half + reach; i++) {
        light += image[j * side + i];
        moment += image[j * side + i] * (i - half) * pixel;
      }
    return moment / light;
  });
}
