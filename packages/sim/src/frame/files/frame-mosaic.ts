/** Whether a frame has a color mosaic, by its header or by the call, and the image that is taken of it. */
import { imageHeight, imageWidth } from '@holdfast/psf/internal';
import { type FitsHeader, fitsNumber, fitsText } from './fits/fits-header.ts';
import type { FrameFileOptions, FrameReadResult, WholeFrame } from './frame-image.ts';
import { type MosaicPattern, mosaicPatterns, shiftedPattern, takeMosaic } from './mosaic.ts';
import { refusePicture } from './picture.ts';

export function throughMosaic(
  whole: WholeFrame,
  { mosaic, color = 'sum' }: FrameFileOptions,
): FrameReadResult {
  const { colored, saturationAdu, ...frame } = whole;
  const asItIs = { ...frame, ...(saturationAdu === undefined ? {} : { saturationAdu }) };
  const told = mosaicOfHeader(frame.header);
  if (mosaic === false || (mosaic === undefined && (told === undefined || colored))) return asItIs;
  if (colored)
    return refusePicture('no-mosaic', 'a mosaic was asked for of a frame whose colors are apart already');
  const take = mosaic?.take ?? color;
  const pattern = mosaic?.pattern ?? told?.pattern;
  if (pattern === undefined && take !== 'sum')
    return refusePicture(
      'no-pattern',
      `the ${take} pixels of a mosaic were asked for, but its pattern is not known: ${told === undefined ? 'there is no BAYERPAT' : `BAYERPAT is ${JSON.stringify(told.text)}`}, and the call names none`,
    );
  const [width, height] = [imageWidth(frame.image), imageHeight(frame.image)];
  if (width < 2 || height < 2)
    return refusePicture('no-mosaic', `a mosaic needs 2 x 2 pixels, the frame has ${width} x ${height}`);
  // of a sum the pattern does not matter
  const taken = takeMosaic(frame.image, pattern ?? 'RGGB', take, saturationAdu);
  const warnings = [
    ...frame.warnings,
    `color mosaic ${pattern ?? 'of an unknown pattern'}: ${
      take === 'sum' ? 'each 2 x 2 pixels were summed' : `of each 2 x 2 pixels ${take} was taken`
    }; a pixel here is two of the sensor wide`,
  ];
  if (take !== 'sum' && fitsText(frame.header, 'ROWORDER')?.toUpperCase() === 'BOTTOM-UP')
    warnings.push(
      'ROWORDER is BOTTOM-UP: the pattern was counted from the first row stored; see that it is meant so',
    );
  return {
    ...frame,
    image: taken.image,
    sampling: taken.sampling,
    ...(taken.saturation === undefined ? {} : { saturationAdu: taken.saturation }),
    warnings,
  };
}

/** The pattern that the header names; without `pattern` when it names none of the four. */
function mosaicOfHeader(header: FitsHeader): { pattern?: MosaicPattern; text: string } | undefined {
  const text = fitsText(header, 'BAYERPAT');
  if (text === undefined || text.trim() === '') return undefined;
  const found = mosaicPatterns.find((pattern) => pattern === text.trim().toUpperCase());
  if (found === undefined) return { text };
  const dx = fitsNumber(header, 'XBAYROFF') ?? 0;
  const dy = fitsNumber(header, 'YBAYROFF') ?? 0;
  return { pattern: shiftedPattern(found, dx, dy), text };
}
