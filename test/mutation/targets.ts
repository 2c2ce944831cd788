/** The formulas whose tests are proved by mutation, and the mutants that no test can notice. */

export interface Target {
  readonly file: string;
  readonly tests: readonly string[];
  /**
   * Mutants that change no result, or none that is promised: the change as it is reported, and the reason.
   */
  readonly equivalent?: Readonly<Record<string, string>>;
}

/** Changes that share a reason. */
const same = (reason: string, changes: readonly string[]): Record<string, string> =>
  Object.fromEntries(changes.map((change) => [change, reason]));

export const targets: readonly Target[] = [
  { file: 'packages/psf/src/optics/optics.ts', tests: ['test/psf/optics.test.ts'] },
  { file: 'packages/psf/src/optics/depth-of-focus.ts', tests: ['test/psf/optics.test.ts'] },
  {
    file: 'packages/psf/src/optics/off-axis.ts',
    tests: ['test/psf/off-axis.test.ts', 'test/psf/sphere-pair.test.ts'],
  },
  { file: 'packages/psf/src/light/photometry.ts', tests: ['test/psf/photometry.test.ts'] },
  { file: 'packages/psf/src/shapes/annulus.ts', tests: ['test/psf/annulus.test.ts'] },
  { file: 'packages/centroid/src/error/position-bound.ts', tests: ['test/centroid/position-bound.test.ts'] },
  {
    file: 'packages/centroid/src/error/error-propagation.ts',
    tests: ['test/centroid/error-propagation.test.ts'],
    equivalent: {
      ...same(
        'overwritten before it is read',
        [
          ...[
            'total: 1, size: 0, light: 0, x: 0, y: 0, count: 0',
            'total: 0, size: 1, light: 0, x: 0, y: 0, count: 0',
          ],
          ...[
            'total: 0, size: 0, light: 1, x: 0, y: 0, count: 0',
            'total: 0, size: 0, light: 0, x: 1, y: 0, count: 0',
          ],
          ...[
            'total: 0, size: 0, light: 0, x: 0, y: 1, count: 0',
            'total: 0, size: 0, light: 0, x: 0, y: 0, count: 1',
          ],
        ].map(
          (fields) =>
            `const moments: Moments = { total: 0, size: 0, light: 0, x: 0, y: 0, count: 0 };  =>  const moments: Moments = { ${fields} };`,
        ),
      ),
      ...same('overwritten before it is read', [
        'const follow: Follow = { x: 0, y: 0 };  =>  const follow: Follow = { x: 1, y: 0 };',
        'const follow: Follow = { x: 0, y: 0 };  =>  const follow: Follow = { x: 0, y: 1 };',
        'const normal = new Float64Array(2);  =>  const normal = new Float64Array(3);',
      ]),
      ...same('only its square counts', ['above += pixel.slope;  =>  above -= pixel.slope;']),
    },
  },
  {
    file: 'packages/sim/src/motion/loop-response.ts',
    tests: ['test/sim/loop-response.test.ts'],
    equivalent: {
      ...same('a tolerance for rounding', [
        'if (intervalS < exposureS * (1 - 1e-12))  =>  if (intervalS < exposureS * (1 - 1.05e-12))',
        'const now = after > 1 - 1e-9 ? 1 : Math.max(0, after);  =>  const now = after > 1 - 1.05e-9 ? 1 : Math.max(0, after);',
      ]),
      ...same('the bisection ends at the same gain', [
        'let high = 5;  =>  let high = 6;',
        'while (high - low > 1e-9) {  =>  while (high - low > 1.05e-9) {',
      ]),
      ...same('the sum of squares ends a little sooner or later, where nothing is left', [
        'const length = 1 << 16;  =>  const length = 2 << 16;',
        'const length = 1 << 16;  =>  const length = 1 << 17;',
        'let quiet = 0;  =>  let quiet = 1;',
        'for (let n = 0; n < length && quiet < 4 * denominator.length; n++) {  =>  for (let n = 0; n < length || quiet < 4 * denominator.length; n++) {',
        'for (let n = 0; n < length && quiet < 4 * denominator.length; n++) {  =>  for (let n = 0; n < length && quiet < 5 * denominator.length; n++) {',
        'quiet = value * value <= 1e-14 * sum ? quiet + 1 : 0;  =>  quiet = value / value <= 1e-14 * sum ? quiet + 1 : 0;',
        'quiet = value * value <= 1e-14 * sum ? quiet + 1 : 0;  =>  quiet = value * value <= 1e-14 / sum ? quiet + 1 : 0;',
        'quiet = value * value <= 1e-14 * sum ? quiet + 1 : 0;  =>  quiet = value * value <= 1.0500000000000001e-14 * sum ? quiet + 1 : 0;',
        'quiet = value * value <= 1e-14 * sum ? quiet + 1 : 0;  =>  quiet = value * value <= 1e-14 * sum ? quiet - 1 : 0;',
        'quiet = value * value <= 1e-14 * sum ? quiet + 1 : 0;  =>  quiet = value * value <= 1e-14 * sum ? quiet + 2 : 0;',
        'quiet = value * value <= 1e-14 * sum ? quiet + 1 : 0;  =>  quiet = value * value <= 1e-14 * sum ? quiet + 1 : 1;',
      ]),
      ...same('the numerator has no constant term', [
        'for (let n = 0; n < length && quiet < 4 * denominator.length; n++) {  =>  for (let n = 1; n < length && quiet < 4 * denominator.length; n++) {',
        'for (let k = 0; k < numerator.length; k++) denominator[k] += numerator[k];  =>  for (let k = 1; k < numerator.length; k++) denominator[k] += numerator[k];',
      ]),
      ...same('a magnitude does not know the sign of a phase, nor whole turns', [
        'const turns = -k * cyclesPerFrame;  =>  const turns = k * cyclesPerFrame;',
        'const at = unitVector(360 * (turns - Math.floor(turns)));  =>  const at = unitVector(360 * (turns + Math.floor(turns)));',
        'const at = unitVector(360 * (turns - Math.floor(turns)));  =>  const at = unitVector(360 * (turns - Math.ceil(turns)));',
        're += polynomial[k] * at.x;  =>  re -= polynomial[k] * at.x;',
        'im += polynomial[k] * at.y;  =>  im -= polynomial[k] * at.y;',
      ]),
    },
  },
  { file: 'packages/sim/src/focus/limit-search.ts', tests: ['test/sim/limit-search.test.ts'] },
  {
    file: 'packages/sim/src/focus/focus-limit.ts',
    tests: ['test/sim/focus-limit.test.ts', 'test/sim/focus-limit.slow.test.ts'],
    equivalent: {
      ...same('where a search starts: the limit that it finds is the same', [
        'const formulaLimitUm = formulaLimit((scene) => analyticErrorPx(scene, estimator), 10 * umPerPx);  =>  const formulaLimitUm = formulaLimit((scene) => analyticErrorPx(scene, estimator), 10 / umPerPx);',
        'const formulaLimitUm = formulaLimit((scene) => analyticErrorPx(scene, estimator), 10 * umPerPx);  =>  const formulaLimitUm = formulaLimit((scene) => analyticErrorPx(scene, estimator), 11 * umPerPx);',
        'firstGuessUm: Math.max(formulaLimitUm, 4 * umPerPx),  =>  firstGuessUm: Math.min(formulaLimitUm, 4 * umPerPx),',
        'firstGuessUm: Math.max(formulaLimitUm, 4 * umPerPx),  =>  firstGuessUm: Math.max(formulaLimitUm, 4 / umPerPx),',
        'firstGuessUm: Math.max(formulaLimitUm, 4 * umPerPx),  =>  firstGuessUm: Math.max(formulaLimitUm, 5 * umPerPx),',
        'leastErrorLimitUm: formulaLimit(leastError, Math.max(value, 10 * umPerPx)),  =>  leastErrorLimitUm: formulaLimit(leastError, Math.min(value, 10 * umPerPx)),',
        'leastErrorLimitUm: formulaLimit(leastError, Math.max(value, 10 * umPerPx)),  =>  leastErrorLimitUm: formulaLimit(leastError, Math.max(value, 10 / umPerPx)),',
        'leastErrorLimitUm: formulaLimit(leastError, Math.max(value, 10 * umPerPx)),  =>  leastErrorLimitUm: formulaLimit(leastError, Math.max(value, 11 * umPerPx)),',
      ]),
      ...same('how much is left to do is an estimate', [
        "onProgress?.({ task: 'focus limit', done: ++done, total: Math.max(done, 8) });  =>  onProgress?.({ task: 'focus limit', done: ++done, total: Math.max(done, 9) });",
      ]),
    },
  },
];
