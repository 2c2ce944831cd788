/**
 * What a star is compared with: an image of it, or a way to draw it; and templates that depend on one number.
 */

import { requireFinite, requireInteger, shown } from '@holdfast/psf/numerics';
import type { Image } from '../pixels/centroid.ts';
import { sizeOf } from '../pixels/image-view.ts';
import { copyPixels } from '../pixels/valid-pixels.ts';

/** An image of a star whose center is known. Its own sum counts as all of the star's light. */
export interface TemplateImage {
  /** Any unit, without background. All pixels finite. */
  readonly image: Image;
  /** The star's center, px of the template. */
  readonly x: number;
  /** The same along y, px. */
  readonly y: number;
  /**
   * How many of its pixels, along a side, make a pixel of the camera: each holds the light that falls on it,
   * and squares of so many are summed. Whole, 1 to 16. Default 1.
   */
  readonly oversampling?: number;
}

/**
 * A way to draw the star at any place, as `prepareStar` of `@holdfast/psf` returns one: expected electrons
 * per pixel of a star of `flux` electrons centered on (x, y), which may lie beyond the stamp.
 */
export interface TemplatePlan {
  /** Columns, px, >= 1. */
  readonly width: number;
  /** Rows, px, >= 1. */
  readonly height: number;
  /** Overwrite `out`, row-major, with the expected electrons of a star of `flux` electrons at (x, y). */
  renderInto(out: Float64Array, x: number, y: number, flux: number): unknown;
}

/** A picture of the star: an image, or what draws it anywhere. */
export type StarTemplate = TemplateImage | TemplatePlan;

/** Templates by one number, such as the outer diameter of a ring. */
export interface TemplateFamily {
  /** The template at a value of that number; called for values from + i step, once each. */
  readonly templateAt: (parameter: number) => StarTemplate;
  /** Least value of the parameter. */
  readonly from: number;
  /** Largest value of the parameter. */
  readonly to: number;
  /**
   * Distance of the values at which templates are made; between them, cubics through the four nearest. A ring
   * of blur FWHM f wants a step of its diameter of at most f / 3 (measured: 4e-4 of its brightness).
   */
  readonly step: number;
}

/**
 * Values on a regular grid about the star's center: what a whole camera pixel centered there holds of a star
 * of flux 1.
 */
export interface TemplateSamples {
  readonly values: Float64Array;
  readonly width: number;
  readonly height: number;
  /** Samples per camera pixel. */
  readonly perPixel: number;
  /** Place of the first sample from the star's center, camera px. */
  readonly x0: number;
  readonly y0: number;
}

const maxOversampling = 16;

/** @param perPixel  samples per camera pixel of a plan */
export function sampleTemplate(template: StarTemplate, perPixel: number): TemplateSamples {
  if (template === null || typeof template !== 'object')
    throw new TypeError(`template must be an image or a plan, got ${String(template)}`);
  return 'image' in template ? sampleImage(template) : samplePlan(template, perPixel);
}

function sampleImage({ image, x, y, oversampling = 1 }: TemplateImage): TemplateSamples {
  const size = sizeOf(image);
  requireFinite('template.x', x);
  requireFinite('template.y', y);
  const q = requireInteger('template.oversampling', oversampling, 1, maxOversampling);
  const fine = copyPixels(image, size, undefined);
  let total = 0;
  for (let k = 0; k < fine.length; k++) total += fine[k];
  if (!(total > 0 && total < Infinity))
    throw new RangeError(`template.image must hold finite pixels of positive sum, got a sum of ${total}`);
  for (let k = 0; k < fine.length; k++) fine[k] /= total;
  // Sums over q by q of the fine pixels: one more q - 1 each way than there were, so that no light is lost at
  // the border.
  const width = size.width + q - 1;
  const height = size.height + q - 1;
  const along = new Float64Array(width * size.height);
  for (let j = 0; j < size.height; j++)
    for (let i = 0; i < size.width; i++)
      for (let d = 0; d < q; d++) along[j * width + i + d] += fine[j * size.width + i];
  const values = new Float64Array(width * height);
  for (let j = 0; j < size.height; j++)
    for (let d = 0; d < q; d++)
      for (let i = 0; i < width; i++) values[(j + d) * width + i] += along[j * width + i];
  // Sum number 0 holds the fine pixel 0 as its last: its middle lies (q - 1) / 2 fine pixels before.
  const shift = (q - 1) / 2;
  return { values, width, height, perPixel: q, x0: (-shift - x) / q, y0: (-shift - y) / q };
}

/** The star drawn in all four quarters about its center, at each of perPixel^2 places in a pixel. */
function samplePlan(plan: TemplatePlan, perPixel: number): TemplateSamples {
  const w = requireInteger('template.width', plan.width, 1, 4096);
  const h = requireInteger('template.height', plan.height, 1, 4096);
  if (typeof plan.renderInto !== 'function')
    throw new TypeError(`template.renderInto must be a function, got ${shown(plan.renderInto)}`);
  const width = 2 * w * perPixel;
  const height = 2 * h * perPixel;
  const values = new Float64Array(width * height);
  const drawn = new Float64Array(w * h);
  for (let b = 0; b < perPixel; b++)
    for (let a = 0; a < perPixel; a++)
      for (const top of [0, h])
        for (const left of [0, w]) {
          // Pixel i of this drawing lies i - left + a / perPixel from the star's center.
          plan.renderInto(drawn, w - left - a / perPixel, h - top - b / perPixel, 1);
          for (let j = 0; j < h; j++)
            for (let i = 0; i < w; i++)
              values[((j + top) * perPixel + b) * width + (i + left) * perPixel + a] = drawn[j * w + i];
        }
  for (let k = 0; k < values.length; k++)
    if (values[k] - values[k] !== 0)
      throw new RangeError('template.renderInto must draw finite pixels, got others');
  return { values, width, height, perPixel, x0: -w, y0: -h };
}
