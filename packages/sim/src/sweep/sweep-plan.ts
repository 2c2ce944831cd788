/** What a sweep is, apart from how it is run. */
import type { TrialOptions } from '../trials/measure-error.ts';
import type { SceneSetting } from '../trials/scene.ts';
import type { SweepAxes } from './sweep-grid.ts';

/** What a sweep is: the same plan with the same version of the library gives the same rows, to the bit. */
export interface SweepPlan extends TrialOptions {
  /** What is varied, as a grid. */
  readonly axes?: SweepAxes;
  /** Settings one by one, instead of the scene axes of a grid. */
  readonly settings?: readonly SceneSetting[];
}
