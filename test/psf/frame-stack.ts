/**
 * A stack of frames under the same light, and its variances in time and in space as EMVA 1288 defines them.
 */
import ndarray from 'ndarray';
import ops from 'ndarray-ops';

export interface StackMoments {
  /** Pixels and frames. */
  readonly n: number;
  readonly frames: number;
  /** Over all pixels and frames. */
  readonly mean: number;
  /** sigma^2_y.stack: variance of a pixel over the frames, averaged over pixels. */
  readonly temporalVariance: number;
  /**
   * s^2_y: variance over pixels of their mean, less what is left in it of the temporal noise, sigma^2_y.stack
   * / L.
   */
  readonly spatialVariance: number;
  /** Mean over the frames of each pixel. */
  readonly meanFrame: Float64Array;
  /**
   * Standard errors of both variances for normal pixels: sigma^2 sqrt(2 / (n (L - 1))), (s^2 + sigma^2 / L)
   * sqrt(2 / n).
   */
  readonly temporalError: number;
  readonly spatialError: number;
}

export function measureStack(count: number, frameOf: (i: number) => Float64Array): StackMoments {
  const first = ndarray(frameOf(0).slice());
  const n = first.size;
  // Deviations from the first frame, so that the squares do not cancel.
  const shifted = ndarray(new Float64Array(n));
  const squares = ndarray(new Float64Array(n));
  const deviation = ndarray(new Float64Array(n));
  for (let i = 1; i < count; i++) {
    ops.sub(deviation, ndarray(frameOf(i)), first);
    ops.addeq(shifted, deviation);
    ops.muleq(deviation, deviation);
    ops.addeq(squares, deviation);
  }
  const temporalVariance = (ops.sum(squares) - ops.norm2squared(shifted) / count) / (count - 1) / n;
  const meanFrame = ndarray(new Float64Array(n));
  ops.divs(meanFrame, shifted, count);
  ops.addeq(meanFrame, first);
  const mean = ops.sum(meanFrame) / n;
  ops.subs(deviation, meanFrame, mean);
  const measured = ops.norm2squared(deviation) / (n - 1);
  return {
    n,
    frames: count,
    mean,
    temporalVariance,
    spatialVariance: measured - temporalVariance / count,
    meanFrame: meanFrame.data,
    temporalError: temporalVariance * Math.sqrt(2 / (n * (count - 1))),
    spatialError: measured * Math.sqrt(2 / n),
  };
}
