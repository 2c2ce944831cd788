/** A star's position by every estimator, each set up for its window. */

import {
  type Centroid,
  centerOfMass,
  crossCorrelation,
  type EstimatorOptions,
  type GaussianLocated,
  gaussianFit,
  type Located,
  type Noise,
  type NotLocated,
  type PointSymmetryLocated,
  pointSymmetryCenter,
  type TemplateLocated,
  templateFit,
  thresholdedCenterOfMass,
  weightedCenterOfMass,
} from '@holdfast/centroid';
import { leastWeightFwhmPx } from '@holdfast/centroid/internal';
import { prepareStar } from '@holdfast/psf';
import type { Likeness } from './likeness.ts';
import type { StarWindow } from './star-window.ts';

/**
 * Positions on the frame, px, or the reason why an estimator has none. The last three compare the star with
 * what it was measured to look like: its ring, else its Gaussian; without either they fail as the Gaussian
 * fit did.
 */
export interface FramePositions {
  /** Center of mass of the window. */
  readonly centerOfMass: Centroid;
  /** Center of mass above a threshold. */
  readonly thresholdedCenterOfMass: Centroid;
  /**
   * In the window that the search laid. With a window that follows it (`recenter`) the fit states a sigma two
   * to four times too small on real rings, and scatters twice as much.
   */
  readonly gaussianFit: GaussianLocated | NotLocated;
  /** Center of point symmetry. */
  readonly pointSymmetryCenter: PointSymmetryLocated | NotLocated;
  /** Weight as wide as the ring's outer diameter or the Gaussian's FWHM. */
  readonly weightedCenterOfMass: Centroid;
  /** Cross-correlation with a picture that is like the star. */
  readonly crossCorrelation: TemplateLocated | NotLocated;
  /**
   * Its `reducedChiSquare` says how far the star looks like the template; its sigma holds where that is near
   * 1.
   */
  readonly templateFit: TemplateLocated | NotLocated;
}

type WithoutModel = Pick<
  FramePositions,
  'centerOfMass' | 'thresholdedCenterOfMass' | 'gaussianFit' | 'pointSymmetryCenter'
>;
type ByLikeness = Omit<FramePositions, keyof WithoutModel>;

interface SkyLevel {
  readonly level: number;
  readonly levelSigma: number;
}

export function measurePositions(
  window: StarWindow,
  background: SkyLevel,
  noise: Noise,
  saturationE: number | undefined,
): WithoutModel {
  const { stamp } = window;
  const options = optionsFor(window, background, noise, saturationE, window);
  const onFrame = framed(window);
  return {
    ...measureCentersOfMass(window, background, noise, saturationE),
    // Left free under a ring, the background would trade against an ever wider Gaussian.
    gaussianFit: onFrame(gaussianFit(stamp, { ...options, fitBackground: false, recenter: 0 })),
    pointSymmetryCenter: onFrame(pointSymmetryCenter(stamp, options)),
  };
}

/** Those of `measurePositions` that sum light. */
export function measureCentersOfMass(
  window: StarWindow,
  background: SkyLevel,
  noise: Noise,
  saturationE: number | undefined,
): Pick<FramePositions, 'centerOfMass' | 'thresholdedCenterOfMass'> {
  const { stamp } = window;
  const options = optionsFor(window, background, noise, saturationE, window);
  const onFrame = framed(window);
  return {
    centerOfMass: onFrame(centerOfMass(stamp, options)),
    thresholdedCenterOfMass: onFrame(thresholdedCenterOfMass(stamp, options)),
  };
}

/** Why there are no positions by likeness: the star was like nothing. */
export function unlike(gaussian: GaussianLocated | NotLocated): ByLikeness {
  const lost: NotLocated = gaussian.ok ? { ok: false, reason: 'not-converged' } : gaussian;
  return { weightedCenterOfMass: lost, crossCorrelation: lost, templateFit: lost };
}

/** @param near  where the star is on the frame, to a pixel or so */
export function measureByLikeness(
  window: StarWindow,
  background: SkyLevel,
  noise: Noise,
  saturationE: number | undefined,
  likeness: Likeness,
  near: { readonly x: number; readonly y: number },
): ByLikeness {
  const { stamp, left, top } = window;
  const guess = { x: near.x - left, y: near.y - top };
  const options = optionsFor(window, background, noise, saturationE, guess);
  const onFrame = framed(window);
  const reach =
    likeness.kind === 'annulus'
      ? likeness.outerDiameterPx / 2 + 2 * likeness.blurFwhmPx
      : 2.2 * likeness.fwhmPx;
  const side = Math.ceil(reach) + 2;
  const byTemplate = {
    ...options,
    template: planOf(likeness, side),
    fitBackground: false,
  };
  return {
    weightedCenterOfMass: measureWeightedCenter(window, background, noise, saturationE, likeness, near),
    crossCorrelation: onFrame(crossCorrelation(stamp, byTemplate)),
    templateFit: onFrame(templateFit(stamp, byTemplate)),
  };
}

/** That of `measureByLikeness` that sums light. */
export function measureWeightedCenter(
  window: StarWindow,
  background: SkyLevel,
  noise: Noise,
  saturationE: number | undefined,
  likeness: Likeness,
  near: { readonly x: number; readonly y: number },
): Centroid {
  const { stamp, left, top } = window;
  const guess = { x: near.x - left, y: near.y - top };
  const options = optionsFor(window, background, noise, saturationE, guess);
  const weightFwhmPx =
    likeness.kind === 'annulus'
      ? likeness.outerDiameterPx + likeness.blurFwhmPx
      : Math.max(leastWeightFwhmPx, likeness.fwhmPx);
  return framed(window)(weightedCenterOfMass(stamp, { ...options, weightFwhmPx }));
}

/** One plan for a likeness that several stars share: what is made of it is then made once. */
const plans = new WeakMap<Likeness, ReturnType<typeof prepareStar>>();

function planOf(likeness: Likeness, side: number): ReturnType<typeof prepareStar> {
  const known = plans.get(likeness);
  if (known !== undefined) return known;
  const plan = prepareStar(likeness, { width: side, height: side });
  plans.set(likeness, plan);
  return plan;
}

function optionsFor(
  { valid, radiusPx }: StarWindow,
  background: SkyLevel,
  noise: Noise,
  saturationE: number | undefined,
  { x, y }: { readonly x: number; readonly y: number },
): EstimatorOptions & { readonly radiusPx: number } {
  return {
    guess: { x, y },
    radiusPx,
    valid,
    background,
    noise,
    ...(saturationE === undefined ? {} : { saturationE }),
  };
}

function framed(window: StarWindow) {
  return <Found extends Located>(found: Found | NotLocated): Found | NotLocated =>
    found.ok ? { ...found, x: found.x + window.left, y: found.y + window.top } : found;
}
