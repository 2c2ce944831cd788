/**
 * What guiding on a star does to the picture. The blur of the loop adds in quadrature to that of the air, of
 * the other tracking errors and of the imaging camera's pixels.
 */

import { plateScaleArcsecPerPx } from '@holdfast/psf';
import {
  requireFinite,
  requireNames,
  requireNonNegative,
  requireObject,
  requireWithin,
} from '@holdfast/psf/numerics';
import { type LoopChange, loopEffect } from '../motion/guide-loop.ts';
import type { Rig } from '../rig/rig-schema.ts';
import type { PositionError } from '../trials/position-error.ts';
import { type Estimate, scaled } from '../trials/statistics.ts';
import { type OffsetDrift, offsetDriftArcsec } from './offset-drift.ts';

/** FWHM over sigma of a Gaussian, 2 sqrt(2 ln 2). */
export const fwhmPerSigma = 2.3548200450309493;

/** What makes the size of stars in the picture. */
export type BlurTerm = 'seeing' | 'image motion' | 'other tracking' | 'pixel' | 'guide star' | 'offset drift';

/** What a loop feels of a measured star, along one axis. */
export interface AxisError {
  /** Noise-equivalent error: scatter over response, arcsec. */
  readonly noiseArcsec: Estimate;
  /** Change of the measured position per change of the true one. */
  readonly response: number;
  /**
   * Standard error of the response, which is in that of `noiseArcsec`, too: a larger response makes the
   * noise-equivalent error smaller and the loop's gain larger. Default 0.
   */
  readonly responseError?: number;
  /**
   * Change of the measured position within one picture while the star stands still, arcsec. Default:
   * `offsetDriftArcsec`.
   */
  readonly driftArcsec?: number;
}

/** The same along both axes of the guide camera: a comet is not measured equally well along both. */
export interface GuideError {
  /** Along x. */
  readonly x: AxisError;
  /** Along y. */
  readonly y: AxisError;
  /**
   * Correlation of the standard errors of the noise along x and y, -1 to 1: the same frames tell of both.
   * Default 0.
   */
  readonly correlation?: number;
  /** The same of the standard errors of the response. Default 0. */
  readonly responseCorrelation?: number;
}

/** Growth of stars in the picture, with each term that makes their size. */
export interface ImageGrowth {
  /**
   * FWHM of stars in the picture were the guide star measured without error, by the loop as the rig has it,
   * arcsec.
   */
  readonly fwhmPerfectArcsec: number;
  /** FWHM with the error, arcsec. */
  readonly fwhmArcsec: Estimate;
  /** Growth from the one to the other, %. */
  readonly growthPercent: Estimate;
  /** Each blur as a FWHM, arcsec; they add in quadrature. */
  readonly terms: {
    /** The air, the motion of the picture's own stars in it included: a long exposure. */
    readonly seeingArcsec: number;
    /** What the loop adds by following the guide star's motion in air that the picture does not share. */
    readonly imageMotionArcsec: number;
    /** The rig's `otherRmsArcsec`, and what this loop leaves of the mount's motion beyond the rig's own. */
    readonly otherTrackingArcsec: number;
    readonly pixelArcsec: number;
    /** What the loop makes of the noise of the measured position. */
    readonly guideStarArcsec: number;
    /** Change of the method's offset within one picture. */
    readonly offsetDriftArcsec: number;
  };
  /** The term that adds most. */
  readonly largestTerm: BlurTerm;
  /** Along the axes of the guide camera. */
  readonly axes: ImageAxes;
}

/** The star in the picture along the axes of the guide camera. */
export interface ImageAxes {
  /** FWHM along x, arcsec. */
  readonly fwhmXArcsec: number;
  /** FWHM along y, arcsec. */
  readonly fwhmYArcsec: number;
  /** The longer over the shorter. */
  readonly elongation: Estimate;
}

/** A star measured without error. */
export const noError: GuideError = {
  x: { noiseArcsec: { value: 0, standardError: 0 }, response: 1 },
  y: { noiseArcsec: { value: 0, standardError: 0 }, response: 1 },
};

/**
 * What a loop feels of trials; undefined where the method does not follow the star.
 *
 * @param drift  walk of the measured place within one picture. Default: `offsetDriftArcsec`
 */
export function guideErrorOf(
  error: PositionError<string>,
  arcsecPerPx: number,
  drift?: OffsetDrift,
): GuideError | undefined {
  const { noiseEquivalentXPx, noiseEquivalentYPx, noiseEquivalentPx, responseX, responseY } = error;
  if (!noiseEquivalentXPx || !noiseEquivalentYPx || !responseX || !responseY) return undefined;
  const { scatterXPx, scatterYPx, scatterPx } = error;
  const along = (noisePx: Estimate, response: Estimate, driftArcsec: number | undefined): AxisError => ({
    noiseArcsec: scaled(noisePx, arcsecPerPx),
    response: response.value,
    responseError: response.standardError,
    ...(driftArcsec === undefined ? {} : { driftArcsec }),
  });
  const axes = {
    x: along(noiseEquivalentXPx, responseX, drift?.x),
    y: along(noiseEquivalentYPx, responseY, drift?.y),
  };
  if (!noiseEquivalentPx || !scatterXPx || !scatterYPx || !scatterPx) return axes;
  const ofNoise = jointError(noiseEquivalentXPx, noiseEquivalentYPx, noiseEquivalentPx);
  const ofResponse = ofNoise - jointError(scatterXPx, scatterYPx, scatterPx);
  return {
    ...axes,
    correlation: correlationOf(ofNoise, noiseEquivalentXPx, noiseEquivalentYPx),
    responseCorrelation: correlationOf(ofResponse, responseX, responseY),
  };
}

/** Covariance of the relative errors of x and y, from that of the root of their mean square. */
function jointError(x: Estimate, y: Estimate, both: Estimate): number {
  const [ofX, ofY, ofBoth] = [x, y, both].map(({ value, standardError }) => value * standardError);
  const product = x.value * y.value;
  return product > 0 ? (4 * ofBoth * ofBoth - ofX * ofX - ofY * ofY) / (2 * product * product) : 0;
}

function correlationOf(jointError: number, x: Estimate, y: Estimate): number {
  const errors = (x.standardError / x.value) * (y.standardError / y.value);
  return errors > 0 ? Math.max(-1, Math.min(1, jointError / errors)) : 0;
}

function errorOfBoth(x: number, y: number, correlation: number, sign = 1): number {
  return Math.sqrt(Math.max(0, x * x + y * y + 2 * sign * correlation * x * y));
}

/** Noise-equivalent error of both axes together, arcsec. */
export function noiseOf(guide: GuideError): Estimate {
  const [x, y] = [guide.x.noiseArcsec, guide.y.noiseArcsec];
  const value = Math.sqrt((x.value ** 2 + y.value ** 2) / 2);
  const { correlation = 0 } = guide;
  const error = errorOfBoth(x.value * x.standardError, y.value * y.standardError, correlation);
  return { value, standardError: value > 0 ? error / 2 / value : 0 };
}

function requireAxis(name: string, axis: AxisError): void {
  const { noiseArcsec, response, responseError = 0, driftArcsec = 0 } = requireObject(name, axis);
  requireNonNegative(`${name}.noiseArcsec.value`, requireObject(`${name}.noiseArcsec`, noiseArcsec).value);
  requireNonNegative(`${name}.noiseArcsec.standardError`, noiseArcsec.standardError);
  requireFinite(`${name}.response`, response);
  requireNonNegative(`${name}.responseError`, responseError);
  requireFinite(`${name}.driftArcsec`, driftArcsec);
}

/**
 * Growth of the picture's stars, along each axis:
 *
 *   FWHM^2 = seeing^2 + k^2 (air^2 + other^2 + mount^2 - mount0^2 + pixel^2 / 12 + noise^2 G / (2 - G) +
 *   drift^2 / 12)
 *
 * k = 2 sqrt(2 ln 2), G = gain x response; noise = noise-equivalent error. seeing = long exposure, which
 * holds the motion of the picture's own air; air = what the loop adds by following the guide star's
 * (`airInLoop`); mount and mount0 = what this loop and the rig's own, with a response of 1, leave of drift
 * and periodic error: the rig's `other` holds the latter. A constant offset of the method is not in it: the
 * set point takes it. What changes of it within one picture, evenly, is the drift.
 *
 * @param loop  what differs from the rig's loop
 * @returns undefined where the loop is unstable: gain times response >= 2
 */
export function imageGrowth(rig: Rig, guide: GuideError, loop: LoopChange = {}): ImageGrowth | undefined {
  requireAxis('guide.x', requireNames('guide', guide, 'x y correlation responseCorrelation').x);
  requireAxis('guide.y', guide.y);
  requireWithin('guide.correlation', guide.correlation ?? 0, -1, 1);
  requireWithin('guide.responseCorrelation', guide.responseCorrelation ?? 0, -1, 1);
  const own = loopEffect(rig);
  if (!own) return undefined;
  const k2 = fwhmPerSigma * fwhmPerSigma;
  const { seeingFwhmArcsec } = rig.sky;
  const pixelArcsec = pixelFwhmArcsec(rig);
  const other2 = rig.tracking.otherRmsArcsec ** 2;
  const fixed2 = seeingFwhmArcsec ** 2 + pixelArcsec ** 2;
  const perfect = Math.sqrt(fixed2 + k2 * (own.airArcsec ** 2 + other2));
  const walked = offsetDriftArcsec(rig);
  const blurOf = (noiseArcsec: number, response: number, driftArcsec: number) => {
    const effect = loopEffect(rig, { ...loop, response });
    if (!effect) return undefined;
    const air2 = k2 * effect.airArcsec ** 2;
    const tracking2 = k2 * Math.max(0, other2 + effect.mountArcsec ** 2 - own.mountArcsec ** 2);
    const noise2 = k2 * (effect.noiseFactor * noiseArcsec) ** 2;
    const drift2 = (k2 * driftArcsec ** 2) / 12;
    return { air2, tracking2, noise2, drift2, fwhm2: fixed2 + air2 + tracking2 + noise2 + drift2 };
  };
  const along = (axis: AxisError, walkedArcsec: number): AxisBlur | undefined => {
    const { noiseArcsec, response, responseError = 0, driftArcsec = walkedArcsec } = axis;
    const blur = blurOf(noiseArcsec.value, response, driftArcsec);
    if (!blur) return undefined;
    // With the same scatter: a larger response leaves less noise-equivalent error to a larger gain.
    const moved = (by: number) =>
      blurOf((noiseArcsec.value * response) / (response + by), response + by, driftArcsec);
    const up = responseError > 0 ? moved(responseError) : blur;
    // Where a larger one makes the loop unstable, a smaller one tells.
    const responseError2 = up ? up.fwhm2 - blur.fwhm2 : blur.fwhm2 - (moved(-responseError) ?? blur).fwhm2;
    const scatterError = Math.sqrt(Math.max(0, noiseArcsec.standardError ** 2 - errorByResponse(axis) ** 2));
    return {
      ...blur,
      scatterError2: noiseArcsec.value > 0 ? (2 * blur.noise2 * scatterError) / noiseArcsec.value : 0,
      responseError2,
    };
  };
  const x = along(guide.x, walked.x);
  const y = along(guide.y, walked.y);
  if (!x || !y) return undefined;
  const fwhm = Math.sqrt((x.fwhm2 + y.fwhm2) / 2);
  const fwhmError = blurError(x, y, guide) / 4 / fwhm;
  const both = (a: number, b: number) => Math.sqrt((a + b) / 2);
  const terms = {
    seeingArcsec: seeingFwhmArcsec,
    imageMotionArcsec: both(x.air2, y.air2),
    otherTrackingArcsec: both(x.tracking2, y.tracking2),
    pixelArcsec,
    guideStarArcsec: both(x.noise2, y.noise2),
    offsetDriftArcsec: both(x.drift2, y.drift2),
  };
  return {
    fwhmPerfectArcsec: perfect,
    fwhmArcsec: { value: fwhm, standardError: fwhmError },
    growthPercent: { value: 100 * (fwhm / perfect - 1), standardError: (100 * fwhmError) / perfect },
    terms,
    largestTerm: largestOf(terms),
    axes: axesOf(x, y, guide),
  };
}

/** A pixel of the main camera as the FWHM of a Gaussian of the same width, arcsec. */
export function pixelFwhmArcsec({ mainCamera, telescope }: Rig): number {
  const { pixelSizeUm } = mainCamera;
  const arcsec = plateScaleArcsecPerPx({ pixelSizeUm, focalLengthMm: telescope.focalLengthMm });
  return (fwhmPerSigma * arcsec) / Math.sqrt(12);
}

const termNames: Record<keyof ImageGrowth['terms'], BlurTerm> = {
  seeingArcsec: 'seeing',
  imageMotionArcsec: 'image motion',
  otherTrackingArcsec: 'other tracking',
  pixelArcsec: 'pixel',
  guideStarArcsec: 'guide star',
  offsetDriftArcsec: 'offset drift',
};

function largestOf(terms: ImageGrowth['terms']): BlurTerm {
  const names = Object.keys(termNames) as (keyof ImageGrowth['terms'])[];
  return termNames[names.reduce((a, b) => (terms[b] > terms[a] ? b : a))];
}

/** Squares of the blur along an axis, arcsec^2. */
interface AxisBlur {
  readonly air2: number;
  readonly tracking2: number;
  readonly noise2: number;
  readonly drift2: number;
  readonly fwhm2: number;
  /** What the standard errors of scatter and response do to `fwhm2`. */
  readonly scatterError2: number;
  readonly responseError2: number;
}

/** What the standard error of the response adds to that of the noise-equivalent error, arcsec. */
function errorByResponse({ noiseArcsec, response, responseError = 0 }: AxisError): number {
  return responseError > 0 ? (noiseArcsec.value * responseError) / response : 0;
}

/** Error of the sum of what both axes give, or with `sign` -1 of its difference. */
function blurError(x: AxisBlur, y: AxisBlur, guide: GuideError, sign = 1): number {
  const { correlation = 0, responseCorrelation = 0 } = guide;
  const [ofX, ofY] = [errorByResponse(guide.x), errorByResponse(guide.y)];
  const [noiseX, noiseY] = [guide.x.noiseArcsec.standardError, guide.y.noiseArcsec.standardError];
  const scatters = Math.sqrt(Math.max(0, (noiseX ** 2 - ofX ** 2) * (noiseY ** 2 - ofY ** 2)));
  const joint = correlation * noiseX * noiseY - responseCorrelation * ofX * ofY;
  const scatterCorrelation = scatters > 0 ? Math.max(-1, Math.min(1, joint / scatters)) : 0;
  const scatter = errorOfBoth(x.scatterError2, y.scatterError2, scatterCorrelation, sign);
  const response = errorOfBoth(x.responseError2, y.responseError2, responseCorrelation, sign);
  return Math.sqrt(scatter ** 2 + response ** 2);
}

function axesOf(x: AxisBlur, y: AxisBlur, guide: GuideError): ImageAxes {
  const fwhmXArcsec = Math.sqrt(x.fwhm2);
  const fwhmYArcsec = Math.sqrt(y.fwhm2);
  const relative = (blur: AxisBlur): AxisBlur => ({
    ...blur,
    scatterError2: blur.scatterError2 / 2 / blur.fwhm2,
    responseError2: blur.responseError2 / 2 / blur.fwhm2,
  });
  const value = Math.max(fwhmXArcsec, fwhmYArcsec) / Math.min(fwhmXArcsec, fwhmYArcsec);
  const standardError = value * blurError(relative(x), relative(y), guide, -1);
  return { fwhmXArcsec, fwhmYArcsec, elongation: { value, standardError } };
}

/**
 * Largest noise-equivalent error per axis, arcsec, within the budget, for a method that follows the star in
 * full: what keeps the picture's FWHM (the inverse of `imageGrowth`), or the budget's own `rmsErrorArcsec`
 * where that is less.
 *
 * @param loop  what differs from the rig's loop
 */
export function noiseWithinBudgetArcsec(rig: Rig, loop: LoopChange = {}): number {
  const effect = loopEffect(rig, requireObject('loop', loop));
  const still = imageGrowth(rig, noError, loop);
  if (!effect || !still) return 0;
  const allowed = still.fwhmPerfectArcsec * (1 + rig.budget.fwhmGrowthPercent / 100);
  const room = Math.max(0, allowed ** 2 - still.fwhmArcsec.value ** 2);
  const byGrowth = Math.sqrt(room) / (fwhmPerSigma * effect.noiseFactor);
  return Math.min(byGrowth, rig.budget.rmsErrorArcsec ?? Infinity);
}
