/** A stack of frames under the same light, and its variances in time and in space as EMVA 1288 defines them. */
export interface StackMoments {
  /** Pixels and frames. */
  readonly n: number;
  readonly frames: number;
  /** Over all pixels and frames. */
  readonly mean: number;
  /** sigma^2_y.stack: variance of a pixel over the frames, averaged over pixels. */
  readonly temporalVariance: number;
  /** s^2_y: variance over pixels of their mean, less what is left in it of the temporal noise, sigma^2_y.stack / L. */
  readonly spatialVariance: number;
  /** Mean over the frames of each pixel. */
  readonly meanFrame: Float64Array;
  /** Standard errors of both variances for normal pixels: sigma^2 sqrt(2 / (n (L - 1))), (s^2 + sigma^2 / L) sqrt(2 / n). */
  readonly temporalError: number;
  readonly spatialError: number;
}

export function measureStack(count: number, frameOf: (i: number) => Float64Array): StackMoments {
  const sum = frameOf(0).slice();
  const n = sum.length;
  const squares = new Float64Array(n);
  // Deviations from the first frame, so that the squares do not cancel.
  const first = sum.slice();
  const shifted = new Float64Array(n);
  for (let i = 1; i < count; i++) {
    const frame = frameOf(i);
    for (let k = 0; k < n; k++) {
      const d = frame[k] - first[k];
      shifted[k] += d;
      squares[k] += d * d;
    }
  }
  let temporalVariance = 0;
  for (let k = 0; k < n; k++)
    temporalVariance += (squares[k] - (shifted[k] * shifted[k]) / count) / (count - 1) / n;
  const meanFrame = first.map((e, k) => e + shifted[k] / count);
  let mean = 0;
  for (let k = 0; k < n; k++) mean += meanFrame[k] / n;
  let measured = 0;
  for (let k = 0; k < n; k++) measured += (meanFrame[k] - mean) ** 2 / (n - 1);
  return {
    n,
    frames: count,
    mean,
    temporalVariance,
    spatialVariance: measured - temporalVariance / count,
    meanFrame,
    temporalError: temporalVariance * Math.sqrt(2 / (n * (count - 1))),
    spatialError: measured * Math.sqrt(2 / n),
  };
}
