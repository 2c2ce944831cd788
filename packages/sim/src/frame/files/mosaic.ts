/**
 * A frame behind a mosaic of color filters: squares of 2 x 2 pixels made into one, so that no pixel is
 * invented.
 */
import { createImage, type Image } from '@holdfast/psf';
import { imageHeight, imagePixels, imageWidth } from '@holdfast/psf/internal';
import type { ColorTake } from './color-channels.ts';

/** Colors of the first two pixels of the first row stored, then of the second row. */
export type MosaicPattern = 'RGGB' | 'BGGR' | 'GRBG' | 'GBRG';

export const mosaicPatterns = ['RGGB', 'BGGR', 'GRBG', 'GBRG'] as const;

/**
 * How the pixels of an image lie on the sensor: image (x, y) is the place (x0 + pitchPx x, y0 + pitchPx y) of
 * the sensor.
 */
export interface PixelSampling {
  /** Distance of neighboring pixels of the image, in pixels of the sensor: 2 for a mosaic, else 1. */
  readonly pitchPx: number;
  /** Pixels of the sensor in the sum that one pixel of the image is. */
  readonly pixelsSummed: number;
  /** Column of the sensor at the frame's column 0, px of the sensor. */
  readonly x0: number;
  /** Row of the sensor at the frame's row 0, px of the sensor. */
  readonly y0: number;
}

export const everyPixel: PixelSampling = { pitchPx: 1, pixelsSummed: 1, x0: 0, y0: 0 };

export interface MosaicImage {
  readonly image: Image;
  readonly sampling: PixelSampling;
  readonly saturation?: number;
}

/**
 * Half the width and half the height of the frame; an odd last row or column is left out. 'sum' adds all four
 * pixels, 'green' both green ones; 'red' and 'blue' are one pixel each. Sums with a saturated pixel are set
 * to the sum's own saturation.
 *
 * A pixel of the image stands for twice the side: `pixelSizeUm` is twice the sensor's, offset and read noise
 * variance are those of `pixelsSummed` pixels. Of a single color it holds a quarter (green: half) of the
 * area, so a star looks a little sharper than on pixels of the full area.
 *
 * @param pattern     for 'sum' it does not matter
 * @param saturation  value from which on a pixel of the frame is saturated
 */
export function takeMosaic(
  frame: Image,
  pattern: MosaicPattern,
  take: ColorTake,
  saturation: number | undefined,
): MosaicImage {
  const from = imageWidth(frame);
  const width = from >> 1;
  const height = imageHeight(frame) >> 1;
  const pixels = imagePixels(frame);
  const places = placesOf(pattern, take);
  const image = createImage(width, height);
  const full = saturation ?? Infinity;
  for (let y = 0, k = 0; y < height; y++)
    for (let x = 0; x < width; x++, k++) {
      const corner = 2 * y * from + 2 * x;
      let sum = 0;
      let saturated = false;
      for (const { dx, dy } of places) {
        const value = pixels[corner + dy * from + dx];
        sum += value;
        if (value >= full) saturated = true;
      }
      image.data[k] = saturated ? places.length * full : sum;
    }
  const mean = (of: (place: Place) => number) =>
    places.reduce((sum, place) => sum + of(place), 0) / places.length;
  return {
    image,
    sampling: {
      pitchPx: 2,
      pixelsSummed: places.length,
      x0: mean(({ dx }) => dx),
      y0: mean(({ dy }) => dy),
    },
    ...(saturation === undefined ? {} : { saturation: places.length * saturation }),
  };
}

interface Place {
  readonly dx: number;
  readonly dy: number;
}

function placesOf(pattern: MosaicPattern, take: ColorTake): Place[] {
  const letter = { sum: undefined, red: 'R', green: 'G', blue: 'B' }[take];
  return [0, 1, 2, 3]
    .filter((k) => letter === undefined || pattern[k] === letter)
    .map((k) => ({ dx: k % 2, dy: k >> 1 }));
}

/** The pattern seen from `dx` columns and `dy` rows further on. */
export function shiftedPattern(pattern: MosaicPattern, dx: number, dy: number): MosaicPattern {
  const odd = (n: number) => Math.abs(n) % 2;
  return [0, 1, 2, 3].map((k) => pattern[k ^ odd(dx) ^ (2 * odd(dy))]).join('') as MosaicPattern;
}
