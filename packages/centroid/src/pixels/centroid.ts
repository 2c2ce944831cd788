/**
 * What every estimator takes and returns: an image and options in, a position with its predicted error out,
 * or the reason why there is none. Never NaN, never another estimator's answer.
 */
import type { NdArray } from 'ndarray';

/**
 * Arrays of plain numbers that pixels are read from; other than `Float64Array` they are copied once per
 * image.
 */
export type PixelNumbers =
  | Float64Array
  | Float32Array
  | Uint8Array
  | Uint8ClampedArray
  | Uint16Array
  | Uint32Array
  | Int8Array
  | Int16Array
  | Int32Array;

/** Row-major `[height, width]` image, electrons per pixel. May be strided or transposed; never modified. */
export type Image = NdArray<PixelNumbers>;

/** Sides of an image, px. */
export interface ImageSize {
  /** Columns, px, >= 1. */
  readonly width: number;
  /** Rows, px, >= 1. */
  readonly height: number;
}

/** A place in the image: `x` = column, `y` = row, pixel centers on whole numbers from 0. */
export interface Position {
  /** Column, px. */
  readonly x: number;
  /** Row, px. */
  readonly y: number;
}

/** Why an estimator gives no position. */
export type FailureReason =
  /** the light sums to nothing or less */
  | 'no-flux'
  /** the light does not stand out of its own noise by `minSnr` */
  | 'too-faint'
  /** pixels at or above `saturationE` within the star */
  | 'saturated'
  /** too much of the star lies beyond the edge of the image or window */
  | 'clipped'
  /** the iteration limit was reached, or the fit fell into a corner of its range */
  | 'not-converged'
  /** the position found lies outside the image or window */
  | 'outside'
  /** fewer usable pixels than unknowns */
  | 'too-few-pixels';

/** A measured position. `x` = column, `y` = row, pixel centers on whole numbers from 0. */
export interface Located {
  readonly ok: true;
  /** Column, px. */
  readonly x: number;
  /** Row, px. */
  readonly y: number;
  /** Electrons of the star, as this estimator sees it. */
  readonly flux: number;
  /** Predicted 1 sigma error of x, px. Present when `noise` was given. */
  readonly sigmaX?: number;
  /** Predicted 1 sigma error of y, px. Present when `noise` was given. */
  readonly sigmaY?: number;
  /** Flux over its own predicted error. Present when `noise` was given. */
  readonly snr?: number;
  /** Iterations used; 1 for a direct formula. */
  readonly iterations: number;
}

/** Why there is no position. */
export interface NotLocated {
  readonly ok: false;
  /** Why. */
  readonly reason: FailureReason;
}

/** A position, or the reason why there is none; discriminated by `ok`. */
export type Centroid = Located | NotLocated;

/** Noise of a pixel beside the photon noise of the light in the image. */
export interface Noise {
  /** Read noise, electrons rms per pixel, >= 0. */
  readonly readNoiseE: number;
  /**
   * Sky and dark electrons per pixel whose light is not in the image, >= 0: subtracted before, or left out of
   * an expected star. Their photon noise counts all the same. Default 0.
   */
  readonly backgroundE?: number;
}

/**
 * A background that may slope: level + slopeX (x - x0) + slopeY (y - y0). `estimateBackground` returns one.
 */
export interface BackgroundLevel {
  /** Electrons per pixel at (x0, y0). */
  readonly level: number;
  /** 1 sigma error of `level`, electrons, common to all pixels. Default 0. */
  readonly levelSigma?: number;
  /** Change per column and per row, electrons per px. Default 0. */
  readonly slopeX?: number;
  /** The same along y, electrons per px. */
  readonly slopeY?: number;
  /** Where `level` holds, px. Default 0. */
  readonly x0?: number;
  /** The same along y, px. */
  readonly y0?: number;
}

/** Options that every estimator takes. */
export interface EstimatorOptions {
  /** 1 = use the pixel, 0 = do not; row-major, width * height. Non-finite pixels are never used. */
  readonly valid?: Uint8Array;
  /** Where the star is thought to be, px. Default: found by the estimator itself, as its own text says. */
  readonly guess?: Position;
  /** Only pixels whose center lies within this distance of `guess` are used, px. Default: all. */
  readonly radiusPx?: number;
  /** Background to take off every pixel first: electrons per pixel, or a level with slopes. Default 0. */
  readonly background?: number | BackgroundLevel;
  /**
   * 1 sigma error of `background`, electrons, common to all pixels; carried into sigmaX and sigmaY. Default:
   * the `levelSigma` that comes with `background`, else 0.
   */
  readonly backgroundSigma?: number;
  /** Noise model; without it no sigma is predicted and no `too-faint` is told. */
  readonly noise?: Noise;
  /**
   * Whether `sigmaX` and `sigmaY` are predicted, with `noise`. Of a center of mass they take longer than the
   * position: leave them out of loops that do not look at them. The other estimators have them at hand and
   * give them always. Default true.
   */
  readonly predictsError?: boolean;
  /** Least flux over its predicted error to count as a star. Default 3. */
  readonly minSnr?: number;
  /** Pixels at or above this value (before background) make the star `saturated`. Default: none. */
  readonly saturationE?: number;
}

/**
 * An estimator made ready for many images of one size: options checked once, scratch kept. One caller at a
 * time.
 *
 * @param image       an image of that size, or its row-major pixels; not modified
 * @param guess       where the star is thought to be in this image; default: that of the options
 * @param background  what to take off this image; default: that of the options
 */
export type PreparedEstimator<Found extends Located = Located> = (
  image: Image | Float64Array,
  guess?: Position,
  background?: number | BackgroundLevel,
) => Found | NotLocated;

const failures = new Map<FailureReason, NotLocated>();

/** `{ ok: false, reason }`: one frozen object a reason, so that a lost star costs no allocation. */
export function notLocated(reason: FailureReason): NotLocated {
  let failure = failures.get(reason);
  if (failure === undefined) {
    failure = Object.freeze({ ok: false, reason } as const);
    failures.set(reason, failure);
  }
  return failure;
}
