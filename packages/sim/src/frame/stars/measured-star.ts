/**
 * One star of a frame: where it is by each estimator, how bright, how large, what its ring says of the focus.
 */
import type { Centroid, FoundStar, GaussianLocated, Located, Noise, NotLocated } from '@holdfast/centroid';
import { imageHeight, imageWidth } from '@holdfast/psf/internal';
import type { Estimate } from '../../trials/statistics.ts';
import { fitRing, type RingFit, type RingFitOptions } from '../rings/ring-fit.ts';
import { brightestBeside } from './beside-light.ts';
import { type ComaEstimate, comaFromHole, comaFromMoments } from './coma-measure.ts';
import {
  type FramePositions,
  measureByLikeness,
  measureCentersOfMass,
  measurePositions,
  measureWeightedCenter,
  unlike,
} from './frame-positions.ts';
import { gaussianLikeness, type Likeness, ringLikeness } from './likeness.ts';
import {
  type DrawnStar,
  type FilledWindow,
  fillMissing,
  lostByMissing,
  missingPixels,
  mostUnfilled,
  withFillingError,
} from './missing-pixels.ts';
import { fitRadius, type StarWindow } from './star-window.ts';
import { measureWindow, type WindowLight } from './window-light.ts';

/** One star of a frame. Positions on the frame, px; light in electrons. */
export interface MeasuredStar {
  /** Center of mass of the light, from the search: a label, not a measurement. */
  readonly x: number;
  /** Row, px. */
  readonly y: number;
  /**
   * Position by each estimator with its error from photon, read and background noise; or why there is none.
   */
  readonly positions: FramePositions;
  /**
   * What the uneven light of a ring adds to the error of every position, px; it is shared in part, so that
   * estimators that weigh the ring differently may differ by about this much. 0 for a star without a ring.
   */
  readonly unevenShiftPx: { readonly x: number; readonly y: number };
  /**
   * Its model is a ring. A comet in focus is taken for a small one: where `coma` exceeds a fifth of the
   * ring's radius, the diameter and the focus shift that follows are no more than upper bounds.
   */
  readonly ring: RingFit;
  /** What the star was compared with for the last three positions: its ring, else its Gaussian. */
  readonly likeness: Likeness | undefined;
  /** Level of the background around the star, electrons per pixel. */
  readonly backgroundE: Estimate;
  /**
   * Noise of one pixel of that sky, electrons rms, as measured: compare it with what gain and read noise
   * promise.
   */
  readonly noiseE: Estimate;
  /** Flux over its error. */
  readonly snr: number;
  /**
   * With `fNumber` and `pixelSizeUm`, of a star without ring: the focus shift that would make all of its
   * width, um. It is no farther from focus than this.
   */
  readonly absFocusShiftAtMostUm?: number;
  /**
   * How much of a comet it is, by each measure that there is; `comaFromHole` and `comaFromMoments` say what
   * they take for one.
   */
  readonly coma: { readonly fromHole?: ComaEstimate; readonly fromMoments?: ComaEstimate };
  /**
   * Flux, peak, half-light diameter, second and third moments; undefined when the window holds no light in
   * sum.
   */
  readonly light: WindowLight | undefined;
  /**
   * Pixels of its window that are not valid or not finite. Fits leave them out; for the centers of mass
   * they are filled by the star's likeness, at the error that this costs. Without a likeness these refuse
   * where more than 2 % are missing.
   */
  readonly missingPixels: number;
  /** Share of the star's pixels that are saturated. */
  readonly saturatedFraction: number;
  /** Distance to the next star found, px; absent when it is alone. */
  readonly neighborDistancePx?: number;
  /**
   * Brightest of eight sectors just beyond the ring, less gradient and wings, over the ring's own brightness:
   * the light of a neighbor, even one that was not found or lies off the frame. Undefined without a ring.
   */
  readonly besideRing: Estimate | undefined;
  /**
   * Another star's light falls into this one's: one was found that near, or `besideRing` is 3 % and 5 sigma
   * or more.
   */
  readonly crowded: boolean;
  /**
   * Its window holds light that its likeness does not explain (a trail, a galaxy, a bad column), and that may
   * move its positions by more than they state: with the root of the template fit's reduced chi-square
   * (Birge's ratio; Phys. Rev. 40, 207 (1932), from memory) as a factor, the error would be half as large
   * again, or more. The unevenness of a ring is in `unevenShiftPx` and does not count.
   */
  readonly disturbed: boolean;
  /** What the search found. */
  readonly found: FoundStar;
}

export interface SkyLevel {
  readonly level: number;
  readonly levelSigma: number;
  readonly sigma: number;
  readonly pixelsUsed: number;
}

/** What a star is measured with, beside its window. */
export interface StarSetting {
  /** Undefined for a star that is alone. */
  readonly neighborDistancePx: number | undefined;
  /** Of the whole frame, for a star without sky of its own. */
  readonly frameLevel: SkyLevel;
  readonly noise: Noise;
  readonly saturationE: number | undefined;
  readonly telescope: Pick<RingFitOptions, 'obstructionRatio' | 'fNumber' | 'pixelSizeUm'>;
  /**
   * What the star looks like, where it is known, as the others of its frame or of the frame before: no ring
   * is fitted then.
   */
  readonly likeness: Likeness | undefined;
  /** What the round before found. */
  readonly before: MeasuredStar | undefined;
}

export function measureStar(found: FoundStar, window: StarWindow, setting: StarSetting): MeasuredStar {
  const { neighborDistancePx, frameLevel, noise, saturationE, telescope } = setting;
  const sky = window.background ?? frameLevel;
  const alone = measurePositions(window, sky, noise, saturationE);
  const { stamp, left, top } = window;
  const at = nearStar(alone.centerOfMass, found) ?? found;
  const center = { x: at.x - left, y: at.y - top };
  const fit = ringOf(found, window, center, setting);
  const ring = movedRing(fit, left, top);
  const likeness = setting.likeness ?? ringLikeness(ring) ?? gaussianLikeness(alone.gaussianFit);
  const near = ring.ok ? { x: ring.x.value, y: ring.y.value } : at;
  const alike =
    likeness === undefined
      ? unlike(alone.gaussianFit)
      : measureByLikeness(window, sky, noise, saturationE, likeness, near);
  const missing = missingPixels(window);
  const drawn = drawnStar(window, likeness, ring, { ...alone, ...alike });
  const filled = missing > 0 && drawn !== undefined ? fillMissing(window, drawn, sky.level) : undefined;
  const byLight = lightCenters(window, filled, missing, (whole) => ({
    alone: measureCentersOfMass(whole, sky, noise, saturationE),
    weighted: likeness && measureWeightedCenter(whole, sky, noise, saturationE, likeness, near),
  }));
  const lit = filled?.window ?? window;
  const unevenShiftPx = ring.ok ? ring.unevenShiftPx : { x: 0, y: 0 };
  const besideRing = fit.ok ? brightestBeside(stamp, window.valid, fit, 2 * fitRadius(found)) : undefined;
  const light = measureWindow({
    width: imageWidth(stamp),
    height: imageHeight(stamp),
    pixels: lit.stamp.data,
    valid: lit.valid,
    ...center,
    radiusPx: window.radiusPx,
    backgroundE: sky.level,
    backgroundSigmaE: sky.levelSigma,
    fixedVariance: noise.readNoiseE ** 2 + (noise.backgroundE ?? 0),
    ...(ring.ok
      ? { uneven: { share: ring.unevenness, lengthPx: unevenLengthPerBlur * ring.blurFwhmPx.value } }
      : {}),
  });
  return {
    x: found.x,
    y: found.y,
    positions: { ...alone, ...alike, ...byLight },
    likeness,
    unevenShiftPx,
    ring,
    backgroundE: { value: sky.level, standardError: sky.levelSigma },
    noiseE: { value: sky.sigma, standardError: sky.sigma / Math.sqrt(2 * Math.max(1, sky.pixelsUsed - 1)) },
    snr: light === undefined ? 0 : light.fluxE.value / light.fluxE.standardError,
    ...focusBound(ring, alone.gaussianFit, telescope),
    coma: comaOf(ring, light, telescope.obstructionRatio),
    light,
    missingPixels: missing,
    saturatedFraction: found.saturatedFraction,
    ...(neighborDistancePx === undefined ? {} : { neighborDistancePx }),
    besideRing,
    crowded:
      (neighborDistancePx !== undefined && neighborDistancePx < 2 * window.radiusPx) ||
      (besideRing !== undefined && besideRing.value > Math.max(0.03, 5 * besideRing.standardError)),
    disturbed: isDisturbed(alike.templateFit, unevenShiftPx),
    found,
  };
}

/** Whether the misfit of the template would make its error half as large again. */
function isDisturbed(fit: FramePositions['templateFit'], uneven: MeasuredStar['unevenShiftPx']): boolean {
  if (!fit.ok || fit.reducedChiSquare === undefined) return false;
  const { sigmaX = 0, sigmaY = 0, reducedChiSquare } = fit;
  const grows = (sigma: number, shift: number) =>
    reducedChiSquare * sigma * sigma > 1.5 * 1.5 * (sigma * sigma + shift * shift);
  return grows(sigmaX, uneven.x) || grows(sigmaY, uneven.y);
}

/** The center of mass, but for one that another light has drawn away by a fifth of the star's radius. */
function nearStar(center: Centroid, { x, y, diameterPx }: FoundStar): Located | undefined {
  if (!center.ok || (center.x - x) ** 2 + (center.y - y) ** 2 > (diameterPx / 10) ** 2) return undefined;
  return center;
}

/** The star as its fit puts it in the window; undefined when nothing was fitted. */
function drawnStar(
  { left, top }: StarWindow,
  likeness: Likeness | undefined,
  ring: RingFit,
  { gaussianFit, templateFit }: FramePositions,
): DrawnStar | undefined {
  if (likeness === undefined) return undefined;
  if (ring.ok) {
    const sigmaPx = Math.max(ring.x.standardError, ring.y.standardError);
    const { x, y, fluxE } = ring;
    return { shape: likeness, x: x.value - left, y: y.value - top, flux: fluxE.value, sigmaPx };
  }
  const fit = likeness.kind === 'gaussian' ? gaussianFit : templateFit;
  if (!fit.ok) return undefined;
  const sigmaPx = Math.max(fit.sigmaX ?? 0, fit.sigmaY ?? 0);
  return { shape: likeness, x: fit.x - left, y: fit.y - top, flux: fit.flux, sigmaPx };
}

/** The centers of mass where pixels are missing: of the filled window, or none. */
function lightCenters(
  window: StarWindow,
  filled: FilledWindow | undefined,
  missing: number,
  measure: (whole: StarWindow) => {
    readonly alone: Pick<FramePositions, 'centerOfMass' | 'thresholdedCenterOfMass'>;
    readonly weighted: Centroid | undefined;
  },
): Partial<FramePositions> {
  if (missing === 0) return {};
  if (filled === undefined) {
    if (missing <= mostUnfilled * Math.PI * window.radiusPx ** 2) return {};
    return {
      centerOfMass: lostByMissing,
      thresholdedCenterOfMass: lostByMissing,
      weightedCenterOfMass: lostByMissing,
    };
  }
  const { alone, weighted } = measure(filled.window);
  return {
    centerOfMass: withFillingError(alone.centerOfMass, filled),
    thresholdedCenterOfMass: withFillingError(alone.thresholdedCenterOfMass, filled),
    ...(weighted === undefined ? {} : { weightedCenterOfMass: withFillingError(weighted, filled) }),
  };
}

/** Saturated pixels say nothing of a ring's shape; more of them than this leave too little to tell it by. */
const mostSaturated = 0.02;

function ringOf(
  found: FoundStar,
  window: StarWindow,
  guess: { readonly x: number; readonly y: number },
  { likeness, before, noise, saturationE, telescope }: StarSetting,
): RingFit {
  if (likeness !== undefined) return { ok: false, reason: 'not-asked' };
  if (found.saturatedFraction > mostSaturated) return { ok: false, reason: 'saturated' };
  // a star that showed no ring shows none without its neighbors
  if (before !== undefined && !before.ring.ok && before.ring.reason === 'no-ring') return before.ring;
  const valid = unsaturated(window, saturationE);
  return fitRing(window.stamp, { noise, valid, guess, radiusPx: fitRadius(found), ...telescope });
}

/**
 * L of the correlation of noise that went through a Gaussian blur is sqrt(2) rms widths; this is per FWHM.
 */
const unevenLengthPerBlur = 1 / Math.sqrt(4 * Math.LN2);

/**
 * A ring of outer diameter D and ratio e has a variance of D^2 (1 + e^2) / 16 along each axis, a Gaussian
 * FWHM^2 / 8 ln2.
 */
function focusBound(
  ring: RingFit,
  gaussian: GaussianLocated | NotLocated,
  { obstructionRatio = 0, fNumber, pixelSizeUm }: StarSetting['telescope'],
): { absFocusShiftAtMostUm?: number } {
  if (ring.ok || !gaussian.ok || fNumber === undefined || pixelSizeUm === undefined) return {};
  const diameterPx = gaussian.fwhmPx * Math.sqrt(2 / (Math.LN2 * (1 + obstructionRatio ** 2)));
  return { absFocusShiftAtMostUm: ((diameterPx * pixelSizeUm) / 2) * Math.sqrt(4 * fNumber * fNumber - 1) };
}

function comaOf(
  ring: RingFit,
  light: WindowLight | undefined,
  obstructionRatio: number | undefined,
): MeasuredStar['coma'] {
  const resolved = ring.ok && ring.holeResolved;
  const most = ring.ok ? ring.outerDiameterPx.value / 2 : 0;
  const ratio = obstructionRatio ?? (resolved ? ring.obstructionRatio.value : 0);
  const radii = { least: resolved ? most : 0, most };
  return {
    ...(resolved ? { fromHole: comaFromHole(ring) } : {}),
    ...(light === undefined ? {} : { fromMoments: comaFromMoments(light.thirdMomentsPx3, radii, ratio) }),
  };
}

function movedRing(ring: RingFit, left: number, top: number): RingFit {
  if (!ring.ok) return ring;
  const { x, y, outerCenter } = ring;
  return {
    ...ring,
    x: moved(x, left),
    y: moved(y, top),
    outerCenter: { x: outerCenter.x + left, y: outerCenter.y + top },
  };
}

const moved = ({ value, standardError }: Estimate, by: number): Estimate => ({
  value: value + by,
  standardError,
});

function unsaturated({ stamp, valid }: StarWindow, saturationE: number | undefined): Uint8Array {
  if (saturationE === undefined) return valid;
  return valid.map((use, k) => (use && stamp.data[k] < saturationE ? 1 : 0));
}

/** The same star on a frame of which the one it was measured on is a part that begins at (left, top). */
export function movedStar(star: MeasuredStar, left: number, top: number): MeasuredStar {
  const place = <At extends { readonly x: number; readonly y: number }>(at: At): At => ({
    ...at,
    x: at.x + left,
    y: at.y + top,
  });
  const positions = Object.fromEntries(
    Object.entries(star.positions).map(([name, found]) => [name, found.ok ? place(found) : found]),
  ) as unknown as FramePositions;
  const { ring } = star;
  return {
    ...place(star),
    positions,
    ring: movedRing(ring, left, top),
    found: place(star.found),
  };
}
