/** The estimators that a name chooses, each made ready with its own options. */

import { prepareGaussianFit } from '../gaussian/gaussian-fit.ts';
import { prepareCenterOfMass } from '../moments/center-of-mass.ts';
import { prepareQuadCell } from '../moments/quad-cell.ts';
import { prepareThresholdedCenterOfMass } from '../moments/thresholded.ts';
import { prepareWeightedCenterOfMass } from '../moments/weighted.ts';
import type { EstimatorOptions, ImageSize, PreparedEstimator } from '../pixels/centroid.ts';
import { preparePointSymmetryCenter } from '../symmetry/point-symmetry.ts';
import { prepareCrossCorrelation } from '../template/cross-correlation.ts';
import { prepareTemplateFit } from '../template/template-fit.ts';

const byName = {
  centerOfMass: prepareCenterOfMass,
  thresholdedCenterOfMass: prepareThresholdedCenterOfMass,
  weightedCenterOfMass: prepareWeightedCenterOfMass,
  quadCell: prepareQuadCell,
  gaussianFit: prepareGaussianFit,
  crossCorrelation: prepareCrossCorrelation,
  templateFit: prepareTemplateFit,
  pointSymmetryCenter: preparePointSymmetryCenter,
} as const;

/** Names of estimators. */
export type NamedEstimator = keyof typeof byName;

/** All names. */
export const namedEstimators = Object.keys(byName) as NamedEstimator[];

type OptionsOf<Name extends NamedEstimator> = NonNullable<Parameters<(typeof byName)[Name]>[1]>;
/** An estimator's own options: of each form by itself, as some belong to one form alone. */
export type Own<Options> = Options extends unknown ? Omit<Options, keyof EstimatorOptions> : never;

/** An estimator with its own options. */
type Named = {
  [Name in NamedEstimator]: { readonly estimator: Name } & Own<OptionsOf<Name>>;
}[NamedEstimator];

/**
 * The estimator of a name, made ready.
 *
 * @param options  outrank those beside the name
 */
export function prepareNamed(
  size: ImageSize,
  { estimator, ...own }: Named,
  options: EstimatorOptions,
): PreparedEstimator {
  // The compiler cannot know that options and name are of one row.
  const prepare = byName[estimator] as (size: ImageSize, options: object) => PreparedEstimator;
  return prepare(size, { ...own, ...options });
}
