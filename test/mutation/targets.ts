/** The formulas whose tests are proved by mutation, and the mutants that no test can notice. */

export interface Target {
  readonly file: string;
  readonly tests: readonly string[];
  /** Mutants that change no result, or none that is promised: the change as it is reported, and the reason. */
  readonly equivalent?: Readonly<Record<string, string>>;
}

export const targets: readonly Target[] = [
  { file: 'packages/psf/src/optics/optics.ts', tests: ['test/psf/optics.test.ts'] },
  { file: 'packages/psf/src/optics/depth-of-focus.ts', tests: ['test/psf/optics.test.ts'] },
  { file: 'packages/psf/src/optics/off-axis.ts', tests: ['test/psf/off-axis.test.ts'] },
  { file: 'packages/psf/src/light/photometry.ts', tests: ['test/psf/photometry.test.ts'] },
  { file: 'packages/psf/src/shapes/annulus.ts', tests: ['test/psf/annulus.test.ts'] },
  { file: 'packages/centroid/src/error/position-bound.ts', tests: ['test/centroid/position-bound.test.ts'] },
  {
    file: 'packages/centroid/src/error/error-propagation.ts',
    tests: ['test/centroid/error-propagation.test.ts'],
  },
  { file: 'packages/sim/src/tracking/loop-response.ts', tests: ['test/sim/loop-response.test.ts'] },
  { file: 'packages/sim/src/focus/limit-search.ts', tests: ['test/sim/focus-limit.test.ts'] },
  { file: 'packages/sim/src/focus/focus-limit.ts', tests: ['test/sim/focus-limit.test.ts'] },
];
