/**
 * Estimators with their own options, as candidates for a star: which windows, thresholds and weights are
 * worth a try.
 */

import { leastWeightFwhmPx } from '../moments/weighted.ts';
import type { Image, Position } from '../pixels/centroid.ts';
import { sizeOf } from '../pixels/image-view.ts';
import { copyPixels } from '../pixels/valid-pixels.ts';
import type { StarTemplate } from '../template/star-template.ts';

/** An estimator by name with its own options; `radiusPx` where a window belongs to it. */
export type EstimatorCandidate =
  | { readonly estimator: 'centerOfMass'; readonly radiusPx: number }
  | {
      readonly estimator: 'thresholdedCenterOfMass';
      readonly radiusPx: number;
      readonly thresholdSigma: number;
    }
  | { readonly estimator: 'weightedCenterOfMass'; readonly weightFwhmPx: number }
  | {
      readonly estimator: 'gaussianFit';
      readonly radiusPx: number;
      readonly weighting: 'likelihood';
      readonly fitBackground: false;
    }
  | { readonly estimator: 'pointSymmetryCenter'; readonly radiusPx: number }
  | { readonly estimator: 'crossCorrelation'; readonly template: StarTemplate }
  | { readonly estimator: 'templateFit'; readonly template: StarTemplate };

/** Shares of the light that a window of the center of mass holds. */
const windowShares = [0.7, 0.8, 0.9, 0.95, 0.99];

/** Thresholds, in units of the noise of an empty pixel. */
const thresholds = [0.5, 1, 1.5, 2, 3];

/** Weights, in half-light diameters of the star: that of a Gaussian is its FWHM. */
const weights = [0.8, 1, 1.25, 1.6, 2];

/** From simple to elaborate. */
export function candidatesFor(
  expected: Image,
  at: Position,
  template: StarTemplate | undefined,
): EstimatorCandidate[] {
  const radii = lightRadii(expected, at, [0.5, ...windowShares, 0.995]);
  const half = radii[0];
  const wide = radii[radii.length - 1];
  // Pixels stand at whole places: half a pixel more holds those that the circle passes through.
  const windows = radii.slice(1, -1).map((radius) => radius + 0.5);
  return [
    ...windows.map((radiusPx) => ({ estimator: 'centerOfMass', radiusPx }) as const),
    ...thresholds.map(
      (thresholdSigma) =>
        ({ estimator: 'thresholdedCenterOfMass', radiusPx: wide + 1, thresholdSigma }) as const,
    ),
    ...weights.map(
      (w) =>
        ({
          estimator: 'weightedCenterOfMass',
          weightFwhmPx: Math.max(leastWeightFwhmPx, 2 * w * half),
        }) as const,
    ),
    // On a ring a Gaussian is wider than the ring: in a tight window that follows it, it runs off.
    {
      estimator: 'gaussianFit',
      radiusPx: wide + 3,
      weighting: 'likelihood',
      fitBackground: false,
    },
    // Beyond the star there must be room for it to be turned about another center.
    { estimator: 'pointSymmetryCenter', radiusPx: wide + 2.5 },
    ...(template === undefined
      ? []
      : [
          { estimator: 'crossCorrelation', template } as const,
          { estimator: 'templateFit', template } as const,
        ]),
  ];
}

/** In a few words, with its setting. */
export function estimatorLabel(setting: EstimatorCandidate): string {
  const px = (value: number) => value.toPrecision(3);
  switch (setting.estimator) {
    case 'centerOfMass':
      return `center of mass within ${px(setting.radiusPx)} px`;
    case 'thresholdedCenterOfMass':
      return `center of mass above ${setting.thresholdSigma} sigma within ${px(setting.radiusPx)} px`;
    case 'weightedCenterOfMass':
      return `center of mass under a weight of FWHM ${px(setting.weightFwhmPx)} px`;
    case 'gaussianFit':
      return `Gaussian fit within ${px(setting.radiusPx)} px`;
    case 'pointSymmetryCenter':
      return `center of symmetry within ${px(setting.radiusPx)} px`;
    case 'crossCorrelation':
      return 'cross-correlation with the template';
    case 'templateFit':
      return 'template fit';
  }
}

/** Radii about a place that hold shares of the light, px. */
function lightRadii(image: Image, { x, y }: Position, shares: readonly number[]): number[] {
  const size = sizeOf(image);
  const pixels = copyPixels(image, size, undefined);
  const rings: { r: number; light: number }[] = [];
  let total = 0;
  for (let k = 0; k < pixels.length; k++) {
    if (!(pixels[k] > 0)) continue;
    const dx = (k % size.width) - x;
    const dy = Math.floor(k / size.width) - y;
    rings.push({ r: Math.sqrt(dx * dx + dy * dy), light: pixels[k] });
    total += pixels[k];
  }
  rings.sort((a, b) => a.r - b.r);
  return shares.map((share) => {
    let sum = 0;
    for (const { r, light } of rings) {
      sum += light;
      if (sum >= share * total) return Math.max(0.5, r);
    }
    return Math.max(size.width, size.height);
  });
}
