/** What a sweep is, apart from how it is run. */
import type { EstimatorName } from '../rig/rig-schema.ts';
import type { TrialOptions } from '../trials/measure-error.ts';
import type { AnyEstimator } from '../trials/own-estimator.ts';
import type { SceneSetting } from '../trials/scene.ts';
import type { SweepAxes } from './sweep-grid.ts';

/**
 * What a sweep is: the same plan with the same version of the library gives the same rows, to the bit. An
 * estimator or star of your own counts by its name: give it another one when you change it.
 */
export interface SweepPlan<Estimator extends AnyEstimator = EstimatorName> extends TrialOptions {
  /** What is varied, as a grid. */
  readonly axes?: SweepAxes<Estimator>;
  /** Settings one by one, instead of the scene axes of a grid. */
  readonly settings?: readonly SceneSetting[];
  /** A star of your own in every cell. */
  readonly ownStar?: NonNullable<SceneSetting['ownStar']>;
}
