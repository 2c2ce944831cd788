/** The options that all estimators share, checked and filled in once, at the door. */

import {
  requireBoolean,
  requireFinite,
  requireInteger,
  requireNames,
  requireNonNegative,
  requireObject,
  requirePositive,
  requireValid,
} from '@holdfast/psf/numerics';
import type { BackgroundLevel, EstimatorOptions, ImageSize, Noise, Position } from './centroid.ts';

/** Largest side of an image, px: above this the size given is surely a mistake. */
const maxSide = 32768;

/** Names of the shared options; an estimator adds its own and refuses every other. */
export const estimatorOptionNames =
  'valid guess radiusPx background backgroundSigma noise predictsError minSnr saturationE';

/** Defaults of the shared options. */
const estimatorDefaults = {
  background: 0,
  backgroundSigma: 0,
  predictsError: true,
  minSnr: 3,
} as const;

/** A background with every number filled in. */
export interface ResolvedBackground {
  readonly level: number;
  readonly sigma: number;
  readonly slopeX: number;
  readonly slopeY: number;
  readonly x0: number;
  readonly y0: number;
}

/** The shared options with every default filled in. */
export interface ResolvedOptions {
  readonly size: ImageSize;
  readonly valid: Uint8Array | undefined;
  readonly guess: Position | undefined;
  /** Infinity for no window. */
  readonly radiusPx: number;
  readonly background: ResolvedBackground;
  /** The caller's `backgroundSigma`, which outranks that of a background given with an image. */
  readonly backgroundSigma: number | undefined;
  readonly hasNoise: boolean;
  /**
   * Variance of a pixel beside its own electrons: read noise squared plus the electrons subtracted before.
   */
  readonly fixedVariance: number;
  readonly predictsError: boolean;
  readonly minSnr: number;
  /** Infinity for none. */
  readonly saturationE: number;
}

/** @throws RangeError or TypeError naming the option, the value got and what is allowed */
export function resolveOptions(size: ImageSize, options: EstimatorOptions): ResolvedOptions {
  const { width, height } = requireObject('size', size);
  requireInteger('width', width, 1, maxSide);
  requireInteger('height', height, 1, maxSide);
  const { valid, guess, radiusPx, noise, backgroundSigma, saturationE } = options;
  if (valid !== undefined) requireValid(valid, width, height);
  if (guess !== undefined) requirePosition('guess', guess);
  if (radiusPx !== undefined) requirePositive('radiusPx', radiusPx);
  if (backgroundSigma !== undefined) requireNonNegative('backgroundSigma', backgroundSigma);
  return {
    size: { width, height },
    valid,
    guess,
    radiusPx: radiusPx ?? Infinity,
    background: resolveBackground(options.background ?? estimatorDefaults.background, backgroundSigma),
    backgroundSigma,
    hasNoise: noise !== undefined,
    fixedVariance: noise === undefined ? 0 : emptyVariance(noise),
    predictsError: requireBoolean('predictsError', options.predictsError ?? estimatorDefaults.predictsError),
    minSnr: requireNonNegative('minSnr', options.minSnr ?? estimatorDefaults.minSnr),
    saturationE: saturationE === undefined ? Infinity : requireFinite('saturationE', saturationE),
  };
}

/**
 * Variance of a pixel beside the light in the image, electrons^2: read noise squared plus the electrons that
 * are not in it.
 *
 * @throws RangeError or TypeError naming the field of the noise
 */
export function emptyVariance(noise: Noise): number {
  const { readNoiseE, backgroundE = 0 } = requireNames('noise', noise, 'readNoiseE backgroundE');
  return (
    requireNonNegative('noise.readNoiseE', readNoiseE) ** 2 +
    requireNonNegative('noise.backgroundE', backgroundE)
  );
}

/** A background as a level with slopes, whichever form it was given in. */
export function resolveBackground(
  background: number | BackgroundLevel,
  sigma: number | undefined,
): ResolvedBackground {
  if (typeof background === 'number') {
    const level = requireFinite('background', background);
    const known = sigma ?? estimatorDefaults.backgroundSigma;
    return { level, sigma: known, slopeX: 0, slopeY: 0, x0: 0, y0: 0 };
  }
  const { level, levelSigma = 0, slopeX = 0, slopeY = 0, x0 = 0, y0 = 0 } = requireLevel(background);
  return {
    level: requireFinite('background.level', level),
    sigma: sigma ?? requireNonNegative('background.levelSigma', levelSigma),
    slopeX: requireFinite('background.slopeX', slopeX),
    slopeY: requireFinite('background.slopeY', slopeY),
    x0: requireFinite('background.x0', x0),
    y0: requireFinite('background.y0', y0),
  };
}

/** Background electrons per pixel at a place. */
export const levelAt = (
  { level, slopeX, slopeY, x0, y0 }: ResolvedBackground,
  x: number,
  y: number,
): number => level + slopeX * (x - x0) + slopeY * (y - y0);

/** An estimate of the background is a level, too: what else it says is of no matter here. */
function requireLevel(background: BackgroundLevel): BackgroundLevel {
  if (typeof background === 'object' && background !== null && 'ok' in background) return background;
  return requireNames('background', background, 'level levelSigma slopeX slopeY x0 y0');
}

export function requirePosition(name: string, position: Position): void {
  if (typeof position !== 'object' || position === null)
    throw new TypeError(`${name} must be an object { x, y }, got ${String(position)}`);
  requireFinite(`${name}.x`, position.x);
  requireFinite(`${name}.y`, position.y);
}
