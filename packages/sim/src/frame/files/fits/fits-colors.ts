/** A FITS image as a frame: a cube of three planes holds colors, unless one of its planes is asked for. */
import { createImage } from '@holdfast/psf';
import { imageHeight, imageWidth } from '@holdfast/psf/internal';
import { type ColorTake, planeOf } from '../color-channels.ts';
import type { FrameFailure, FrameFileOptions, WholeFrame } from '../frame-image.ts';
import { everyPixel } from '../mosaic.ts';
import { type FitsHeader, fitsNumber } from './fits-header.ts';
import { type FitsImage, readFitsPlane } from './fits-read.ts';

export function readFitsColors(
  bytes: Uint8Array,
  { hdu, plane: named, page, maxPixels }: FrameFileOptions,
  take: ColorTake,
  verifies: boolean,
): WholeFrame | FrameFailure {
  const plane = named ?? page;
  const at = { ...(hdu === undefined ? {} : { hdu }), ...(maxPixels === undefined ? {} : { maxPixels }) };
  const first = readFitsPlane(bytes, plane === undefined ? at : { ...at, plane }, verifies);
  if (!first.ok) return first;
  const frames = planesOf(first.header);
  const seen = { ...first, kind: 'fits', sampling: everyPixel, colored: false } as const;
  if (plane !== undefined || frames !== 3 || fitsNumber(first.header, 'NAXIS') !== 3)
    return frames > 1 ? { ...seen, framesInFile: frames } : seen;
  const planes = [first];
  for (const n of [1, 2]) {
    const next = readFitsPlane(bytes, { ...at, plane: n }, false);
    if (!next.ok) return next;
    planes.push(next);
  }
  return joined(planes, take);
}

const planesOf = (header: FitsHeader): number =>
  Array.from({ length: Math.max(0, (fitsNumber(header, 'NAXIS') ?? 0) - 2) }).reduce(
    (product: number, _, k) => product * (fitsNumber(header, `NAXIS${k + 3}`) ?? 1),
    1,
  );

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
