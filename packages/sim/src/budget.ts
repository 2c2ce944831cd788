/**
 * What a position error of the guide star does to the picture. The blur of the loop adds in quadrature to that of the
 * air, of the other tracking errors and of the imaging camera's pixels.
 */
import { plateScaleArcsecPerPx } from '@holdfast/psf';
import type { Rig } from './rig-schema.ts';
import type { Estimate } from './statistics.ts';

/** FWHM over sigma of a Gaussian, 2 sqrt(2 ln 2). */
export const fwhmPerSigma = 2.3548200450309493;

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
    readonly seeingArcsec: number;
    readonly otherTrackingArcsec: number;
    readonly pixelArcsec: number;
    readonly guideStarArcsec: number;
  };
  readonly largestTerm: 'seeing' | 'other tracking' | 'pixel' | 'guide star';
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
 *   FWHM^2 = seeing^2 + (k other)^2 + (k pixel / sqrt 12)^2 + (k rms)^2 g / (2 - g),   k = 2 sqrt(2 ln 2)
 */
export function imageGrowth(rig: Rig, rmsArcsec: Estimate): ImageGrowth {
  const { seeingFwhmArcsec } = rig.sky;
  const pixelArcsec = plateScaleArcsecPerPx({
    pixelSizeUm: rig.mainCamera.pixelSizeUm,
    focalLengthMm: rig.telescope.focalLengthMm,
  });
  const other = fwhmPerSigma * rig.tracking.otherRmsArcsec;
  const pixel = (fwhmPerSigma * pixelArcsec) / Math.sqrt(12);
  const perSigma = fwhmPerSigma * loopNoiseFactor(rig.tracking.proportionalGain);
  const guide = perSigma * rmsArcsec.value;
  const perfect = Math.sqrt(seeingFwhmArcsec ** 2 + other ** 2 + pixel ** 2);
  const fwhm = Math.sqrt(perfect ** 2 + guide ** 2);
  // d(fwhm)/d(rms) = perSigma^2 rms / fwhm
  const fwhmError = (perSigma * guide * rmsArcsec.standardError) / fwhm;
  const terms = { seeing: seeingFwhmArcsec, 'other tracking': other, pixel, 'guide star': guide } as const;
  const names = Object.keys(terms) as (keyof typeof terms)[];
  return {
    fwhmPerfectArcsec: perfect,
    fwhmArcsec: { value: fwhm, standardError: fwhmError },
    growthPercent: { value: 100 * (fwhm / perfect - 1), standardError: (100 * fwhmError) / perfect },
    terms: {
      seeingArcsec: seeingFwhmArcsec,
      otherTrackingArcsec: other,
      pixelArcsec: pixel,
      guideStarArcsec: guide,
    },
    largestTerm: names.reduce((a, b) => (terms[b] > terms[a] ? b : a)),
  };
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
