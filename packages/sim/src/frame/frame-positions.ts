/** A star's position by every estimator, each set up for its window. */
import {
  type Centroid,
  centerOfMass,
  type EstimatorOptions,
  type GaussianLocated,
  gaussianFit,
  type Located,
  type NotLocated,
  type PixelNoise,
  thresholdedCenterOfMass,
} from '@holdfast/centroid';
import type { StarWindow } from './star-window.ts';

/** Positions on the frame, px, or the reason why an estimator has none. */
export interface FramePositions {
  readonly centerOfMass: Centroid;
  readonly thresholdedCenterOfMass: Centroid;
  readonly gaussianFit: GaussianLocated | NotLocated;
}

export function measurePositions(
  window: StarWindow,
  background: { readonly level: number; readonly levelSigma: number },
  noise: PixelNoise,
  saturationE: number | undefined,
): FramePositions {
  const { stamp, valid, x, y, apertureRadiusPx: radiusPx } = window;
  const options: EstimatorOptions = {
    guess: { x, y },
    radiusPx,
    valid,
    background,
    noise,
    ...(saturationE === undefined ? {} : { saturationE }),
  };
  const onFrame = <Found extends Located>(found: Found | NotLocated): Found | NotLocated =>
    found.ok ? { ...found, x: found.x + window.left, y: found.y + window.top } : found;
  return {
    centerOfMass: onFrame(centerOfMass(stamp, options)),
    thresholdedCenterOfMass: onFrame(thresholdedCenterOfMass(stamp, options)),
    // Left free under a ring, the background would trade against an ever wider Gaussian. The aperture stays where the search
    // put it: following a ring's Gaussian, it doubles the error.
    gaussianFit: onFrame(gaussianFit(stamp, { ...options, fitBackground: false, recentre: 0 })),
  };
}
