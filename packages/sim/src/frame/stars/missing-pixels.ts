/**
 * Pixels that are missing inside a star: filled by its own shape, for the estimators that sum light; what
 * that costs in error.
 */
import type { Centroid, NotLocated } from '@holdfast/centroid';
import { createImage, prepareStar, type StarShape } from '@holdfast/psf';
import { imageHeight, imageWidth } from '@holdfast/psf/internal';
import type { StarWindow } from './star-window.ts';

/** A star as it can be drawn in the window's pixels. */
export interface DrawnStar {
  readonly shape: StarShape;
  readonly x: number;
  readonly y: number;
  readonly flux: number;
  /** Error of its place, px. */
  readonly sigmaPx: number;
}

export interface FilledWindow {
  readonly window: StarWindow;
  /** What filling adds to the error of a center of mass, px. */
  readonly sigmaX: number;
  readonly sigmaY: number;
}

/** Pixels of the window that lie on the frame and may not be used. */
export function missingPixels({ stamp, valid, x, y, radiusPx }: StarWindow): number {
  const width = imageWidth(stamp);
  let missing = 0;
  for (let k = 0; k < valid.length; k++) {
    const dx = (k % width) - x;
    const dy = Math.floor(k / width) - y;
    if (!valid[k] && dx * dx + dy * dy <= radiusPx * radiusPx) missing++;
  }
  return missing;
}

/**
 * Fill what is missing with the star's shape above `level`. The error is the light filled in times its
 * distance from the middle, as far as the shape errs beside it (rms of the residuals over the light, noise
 * included), and the shape's own place.
 */
export function fillMissing(window: StarWindow, star: DrawnStar, level: number): FilledWindow {
  const { stamp, valid } = window;
  const width = imageWidth(stamp);
  const height = imageHeight(stamp);
  const light = new Float64Array(width * height);
  prepareStar(star.shape, { width, height }).renderInto(light, star.x, star.y, star.flux);
  const filled = stamp.data.slice();
  let [squares, model, share, leverX, leverY, ownX, ownY] = [0, 0, 0, 0, 0, 0, 0];
  for (let k = 0; k < light.length; k++) {
    const dx = (k % width) - star.x;
    const dy = Math.floor(k / width) - star.y;
    if (valid[k]) {
      const left = stamp.data[k] - level - light[k];
      squares += left * left * light[k];
      model += light[k] ** 3;
      continue;
    }
    filled[k] = level + light[k];
    share += light[k];
    leverX += light[k] * dx;
    leverY += light[k] * dy;
    ownX += (light[k] * dx) ** 2;
    ownY += (light[k] * dy) ** 2;
  }
  const misfit = model > 0 ? Math.sqrt(squares / model) : 1;
  const error = (lever: number, own: number): number =>
    Math.sqrt((misfit * misfit * (lever * lever + own) + (share * star.sigmaPx) ** 2) / star.flux ** 2);
  return {
    window: {
      ...window,
      stamp: createImage(width, height, filled),
      valid: new Uint8Array(valid.length).fill(1),
    },
    sigmaX: error(leverX, ownX),
    sigmaY: error(leverY, ownY),
  };
}

/** A position by a filled window, its error enlarged by what filling costs. */
export function withFillingError<Found extends Centroid>(
  found: Found,
  { sigmaX, sigmaY }: FilledWindow,
): Found {
  if (!found.ok) return found;
  const { sigmaX: ownX, sigmaY: ownY } = found;
  if (ownX === undefined || ownY === undefined) return found;
  return {
    ...found,
    sigmaX: Math.sqrt(ownX * ownX + sigmaX * sigmaX),
    sigmaY: Math.sqrt(ownY * ownY + sigmaY * sigmaY),
  };
}

/** Share of the window that may be missing unfilled: a pixel or two of a faint star. */
export const mostUnfilled = 0.02;

/** Without a shape nothing tells what is missing: an estimator that sums light has no answer then. */
export const lostByMissing: NotLocated = { ok: false, reason: 'too-few-pixels' };
