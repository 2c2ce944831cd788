/** A FITS image as a frame: a cube of three planes holds colors, unless one of its planes is asked for. */
import { createImage } from '@holdfast/psf';
import { imageHeight, imageWidth } from '@holdfast/psf/internal';
import { type ColorTake, planeOf } from '../color-channels.ts';
import type { FrameFailure, WholeFrame } from '../frame-image.ts';
import { everyPixel } from '../mosaic.ts';
import { fitsNumber } from './fits-header.ts';
import { type FitsImage, type FitsReadOptions, readFits } from './fits-read.ts';

export function readFitsColors(
  bytes: Uint8Array,
  { hdu, plane, maxPixels }: FitsReadOptions,
  take: ColorTake,
): WholeFrame | FrameFailure {
  const at = { ...(hdu === undefined ? {} : { hdu }), ...(maxPixels === undefined ? {} : { maxPixels }) };
  const first = readFits(bytes, plane === undefined ? at : { ...at, plane });
  if (!first.ok) return first;
  if (
    plane !== undefined ||
    fitsNumber(first.header, 'NAXIS') !== 3 ||
    fitsNumber(first.header, 'NAXIS3') !== 3
  )
    return { ...first, kind: 'fits', sampling: everyPixel, colored: false };
  const planes = [first];
  for (const n of [1, 2]) {
    const next = readFits(bytes, { ...at, plane: n });
    if (!next.ok) return next;
    planes.push(next);
  }
  return joined(planes, take);
}

function joined(planes: readonly FitsImage[], take: ColorTake): WholeFrame {
  const { saturationAdu: top, image, warnings, ...first } = planes[0] as FitsImage;
  const width = imageWidth(image);
  const height = imageHeight(image);
  const samples = new Float64Array(3 * width * height);
  for (const [c, plane] of planes.entries())
    for (let k = 0; k < width * height; k++) samples[3 * k + c] = plane.image.data[k];
  const taken = planeOf({ width, height, channels: 3, samples, ...(top === undefined ? {} : { top }) }, take);
  return {
    ...first,
    kind: 'fits',
    image: createImage(width, height, taken.pixels),
    ...(taken.saturation === undefined ? {} : { saturationAdu: taken.saturation }),
    warnings: [
      ...warnings.filter((text) => !text.endsWith('plane 0 of 3 was read')),
      ...taken.warnings.map((text) => `HDU ${first.hduIndex}: ${text}`),
    ],
    sampling: everyPixel,
    colored: taken.colored,
  };
}
