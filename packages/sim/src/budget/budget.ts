/**
 * What a position error of the guide star does to the picture. The blur of the loop adds in quadrature to that of the
 * air, of the other tracking errors and of the imaging camera's pixels.
 */
import { plateScaleArcsecPerPx } from '@holdfast/psf';
import type { Rig } from '../rig/rig-schema.ts';
import type { PositionError } from '../trials/error-tally.ts';
import type { Estimate } from '../trials/statistics.ts';
import { chasedAirArcsec } from './chased-air.ts';

/** FWHM over sigma of a Gaussian, 2 sqrt(2 ln 2). */
export const fwhmPerSigma = 2.3548200450309493;

/** What makes the size of stars in the picture. */
export type BlurTerm = 'seeing' | 'image motion' | 'other tracking' | 'pixel' | 'guide star';

/** Share of growth of stars in the picture, with each term that makes their size. */
export interface ImageGrowth {
  /** FWHM of stars in the picture were the guide star measured without error, arcsec. */
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
    readonly otherTrackingArcsec: number;
    readonly pixelArcsec: number;
    readonly guideStarArcsec: number;
  };
  readonly largestTerm: BlurTerm;
  /** Present when the error is known along both axes. */
  readonly axes?: ImageAxes;
}

/** The star in the picture along the axes of the guide camera: a comet is not measured equally well along both. */
export interface ImageAxes {
  readonly fwhmXArcsec: number;
  readonly fwhmYArcsec: number;
  /** The longer over the shorter. */
  readonly elongation: Estimate;
}

/** Rms error along both axes, arcsec. */
export interface AxisRms {
  readonly xArcsec: Estimate;
  readonly yArcsec: Estimate;
}

/**
 * Noise of the corrected position over noise of one measured position, for white measurement noise and a
 * proportional gain g, one frame's delay and no dead zone:  sqrt(g / (2 - g)).  Textbook control theory: the loop is a
 * first-order recursive filter.
 */
export function loopNoiseFactor(proportionalGain: number): number {
  if (!(proportionalGain > 0 && proportionalGain < 2))
    throw new RangeError(`proportionalGain must be in (0, 2), got ${proportionalGain}`);
  return Math.sqrt(proportionalGain / (2 - proportionalGain));
}

/**
 * Growth of the picture's stars by an rms error of the guide star's position, per axis.
 *
 *   FWHM^2 = seeing^2 + (k air)^2 + (k other)^2 + (k pixel / sqrt 12)^2 + (k rms)^2 g / (2 - g),   k = 2 sqrt(2 ln 2)
 *
 * seeing = long exposure, which holds the motion of the picture's own air; air = what the loop adds by following the guide
 * star's (`chasedAirArcsec`), with a perfectly measured star, too. Not in it: mount errors that a longer correction interval
 * leaves uncorrected, which are a part of `other` for the interval that it was measured with.
 *
 * @param axes  the error along x and y, for the shape of the star
 */
export function imageGrowth(rig: Rig, rmsArcsec: Estimate, axes?: AxisRms): ImageGrowth {
  const { seeingFwhmArcsec } = rig.sky;
  const pixelArcsec = plateScaleArcsecPerPx({
    pixelSizeUm: rig.mainCamera.pixelSizeUm,
    focalLengthMm: rig.telescope.focalLengthMm,
  });
  const air = fwhmPerSigma * imageMotionAdded(rig);
  const other = fwhmPerSigma * rig.tracking.otherRmsArcsec;
  const pixel = (fwhmPerSigma * pixelArcsec) / Math.sqrt(12);
  const perSigma = fwhmPerSigma * loopNoiseFactor(rig.tracking.proportionalGain);
  const guide = perSigma * rmsArcsec.value;
  const perfect = Math.sqrt(seeingFwhmArcsec ** 2 + air ** 2 + other ** 2 + pixel ** 2);
  const fwhm = Math.sqrt(perfect ** 2 + guide ** 2);
  // d(fwhm)/d(rms) = perSigma^2 rms / fwhm
  const fwhmError = (perSigma * guide * rmsArcsec.standardError) / fwhm;
  const terms: Record<BlurTerm, number> = {
    seeing: seeingFwhmArcsec,
    'image motion': air,
    'other tracking': other,
    pixel,
    'guide star': guide,
  };
  const names = Object.keys(terms) as BlurTerm[];
  return {
    fwhmPerfectArcsec: perfect,
    fwhmArcsec: { value: fwhm, standardError: fwhmError },
    growthPercent: { value: 100 * (fwhm / perfect - 1), standardError: (100 * fwhmError) / perfect },
    terms: {
      seeingArcsec: seeingFwhmArcsec,
      imageMotionArcsec: air,
      otherTrackingArcsec: other,
      pixelArcsec: pixel,
      guideStarArcsec: guide,
    },
    largestTerm: names.reduce((a, b) => (terms[b] > terms[a] ? b : a)),
    ...(axes ? { axes: axesOf(perfect, perSigma, axes) } : {}),
  };
}

function axesOf(perfect: number, perSigma: number, { xArcsec, yArcsec }: AxisRms): ImageAxes {
  const along = ({ value, standardError }: Estimate) => {
    const guide = perSigma * value;
    const fwhm = Math.sqrt(perfect ** 2 + guide ** 2);
    return { fwhm, relativeError: (perSigma * guide * standardError) / fwhm ** 2 };
  };
  const x = along(xArcsec);
  const y = along(yArcsec);
  const value = Math.max(x.fwhm, y.fwhm) / Math.min(x.fwhm, y.fwhm);
  const standardError = value * Math.sqrt(x.relativeError ** 2 + y.relativeError ** 2);
  return { fwhmXArcsec: x.fwhm, fwhmYArcsec: y.fwhm, elongation: { value, standardError } };
}

/** Bias and scatter together along each axis; undefined when too few trials gave a position. */
export function axisRmsOf(error: PositionError): AxisRms | undefined {
  const { rmsPx, rmsArcsec, biasXPx, biasYPx, scatterXPx, scatterYPx } = error;
  if (!rmsPx || !rmsArcsec || !biasXPx || !biasYPx || !scatterXPx || !scatterYPx) return undefined;
  const arcsecPerPx = rmsPx.value > 0 ? rmsArcsec.value / rmsPx.value : 0;
  const together = (bias: Estimate, scatter: Estimate): Estimate => {
    const value = Math.sqrt(bias.value ** 2 + scatter.value ** 2);
    const spread = Math.sqrt(
      (bias.value * bias.standardError) ** 2 + (scatter.value * scatter.standardError) ** 2,
    );
    return { value: arcsecPerPx * value, standardError: value > 0 ? (arcsecPerPx * spread) / value : 0 };
  };
  return { xArcsec: together(biasXPx, scatterXPx), yArcsec: together(biasYPx, scatterYPx) };
}

/** Rms per axis, arcsec, of what the loop adds by following moving air. */
function imageMotionAdded({ sky, telescope, guideCamera, tracking }: Rig): number {
  return chasedAirArcsec({
    seeingFwhmArcsec: sky.seeingFwhmArcsec,
    wavelengthNm: guideCamera.wavelengthNm,
    apertureMm: telescope.apertureMm,
    obstructionRatio: telescope.obstructionRatio,
    windMPerS: sky.windMPerS,
    exposureS: guideCamera.exposureS,
    intervalS: guideCamera.exposureS + tracking.correctionDelayS,
    proportionalGain: tracking.proportionalGain,
  });
}

/**
 * Largest rms error per axis, arcsec, within the budget: what keeps the picture's FWHM (the inverse of `imageGrowth`), or the
 * budget's own `rmsErrorArcsec` where that is less.
 */
export function rmsWithinBudgetArcsec(rig: Rig): number {
  const { fwhmPerfectArcsec } = imageGrowth(rig, { value: 0, standardError: 0 });
  const ratio = 1 + rig.budget.fwhmGrowthPercent / 100;
  const byGrowth =
    (fwhmPerfectArcsec * Math.sqrt(ratio * ratio - 1)) /
    (fwhmPerSigma * loopNoiseFactor(rig.tracking.proportionalGain));
  return Math.min(byGrowth, rig.budget.rmsErrorArcsec ?? Infinity);
}
