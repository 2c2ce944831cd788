/** What the minimizer is told of a Gaussian fit, against differences of the objective itself. */
import { createImage, randomStream, renderStar } from '@holdfast/psf';
import { describe, test } from 'vitest';
import { GaussianProblem } from '../../packages/centroid/src/gaussian/gaussian-problem.ts';
import { resolveOptions } from '../../packages/centroid/src/pixels/estimator-options.ts';
import { createPixelList, listPixels } from '../../packages/centroid/src/pixels/valid-pixels.ts';
import { expectWithin } from '../expect-within.ts';
import { fillNoisyFrame } from './noisy-frames.ts';

const size = { width: 23, height: 19 };

/** A problem on noisy pixels in a window with holes, at unknowns that are not at the minimum. */
function problemOf(free: number[], weighting: 'none' | 'noise' | 'likelihood') {
  const valid = new Uint8Array(size.width * size.height).fill(1);
  for (const k of [9 * 23 + 11, 8 * 23 + 12, 12 * 23 + 7]) valid[k] = 0;
  const options = resolveOptions(size, {
    valid,
    radiusPx: 7.5,
    background: { level: 4, slopeX: 0.2, slopeY: -0.1 },
    noise: { readNoiseE: 3, backgroundE: 15 },
  });
  const image = createImage(size.width, size.height);
  const star = renderStar(
    { kind: 'gaussian', fwhmPx: 4, axisRatio: 0.8 },
    { ...size, x: 11.3, y: 9.2, flux: 3000 },
  );
  fillNoisyFrame(image.data, star.data, { backgroundE: 15, readNoiseE: 3 }, randomStream('problem'));
  const list = createPixelList(size);
  listPixels(list, image, options, options.background, 11, 9);
  const problem = new GaussianProblem(list, size.width, size.height, Int8Array.from(free));
  problem.model.set([11.5, 9.0, 1.6, 1.4, 2800, 1.5]);
  const unknowns = new Float64Array(problem.n);
  problem.begin(unknowns);
  if (weighting === 'noise') problem.useVariance(unknowns);
  if (weighting === 'likelihood') problem.useLikelihood();
  return { problem, unknowns };
}

describe('gradient and Hessian of the objective', () => {
  const shapes: [string, number[]][] = [
    ['circular', [0, 1, 2, 2, 3, 4]],
    ['elliptical', [0, 1, 2, 3, 4, 5]],
    ['known width and background', [0, 1, -1, -1, 2, -1]],
  ];
  for (const [shape, free] of shapes)
    for (const weighting of ['none', 'noise', 'likelihood'] as const)
      test(`${shape}, weighting ${weighting}`, () => {
        const { problem, unknowns } = problemOf(free, weighting);
        const { n } = problem;
        const gradient = new Float64Array(n);
        const hessian = new Float64Array(n * n);
        problem.evaluate(unknowns, gradient, hessian, true);
        const scale = new Float64Array(n);
        problem.scale(scale, unknowns);
        const beside = (j: number, step: number) => {
          const moved = unknowns.slice();
          moved[j] += step;
          const g = new Float64Array(n);
          const objective = problem.evaluate(moved, g, new Float64Array(n * n), false);
          return { objective, g };
        };
        for (let j = 0; j < n; j++) {
          const step = 1e-4 * scale[j];
          const before = beside(j, -step);
          const after = beside(j, step);
          const root = Math.sqrt(hessian[j * n + j]);
          // In units of the unknown's own error, so that pixels and electrons compare
          const slope = (after.objective - before.objective) / (2 * step);
          expectWithin(gradient[j] / root, slope / root, 2e-4, 'central difference');
          for (let i = 0; i < n; i++) {
            const curvature = (after.g[i] - before.g[i]) / (2 * step);
            const unit = root * Math.sqrt(hessian[i * n + i]);
            expectWithin(hessian[i * n + j] / unit, curvature / unit, 1e-5, 'central difference');
          }
        }
      });
});
