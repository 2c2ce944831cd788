/**
 * Noisy frames for the tests of estimators: Poisson photons of star and background, normal read noise,
 * nothing else.
 */
import type { RandomStream } from '@holdfast/psf';

export interface TestNoise {
  /** Electrons per pixel under the star; subtracted from the frame again. Default 0. */
  readonly backgroundE?: number;
  /** Electrons rms per pixel. Default 0. */
  readonly readNoiseE?: number;
}

/** Overwrite `out` with one frame of the expected star, its background taken off exactly. */
export function fillNoisyFrame(
  out: Float64Array,
  expected: Float64Array,
  { backgroundE = 0, readNoiseE = 0 }: TestNoise,
  random: RandomStream,
): void {
  for (let k = 0; k < out.length; k++) {
    out[k] = random.poisson(expected[k] + backgroundE) - backgroundE;
    if (readNoiseE > 0) out[k] += readNoiseE * random.normal();
  }
}

/** Mean and scatter of a sample, each with its standard error (those of the scatter for normal errors). */
export function statisticsOf(values: readonly number[]): {
  mean: number;
  meanError: number;
  scatter: number;
  scatterError: number;
} {
  const n = values.length;
  let sum = 0;
  for (const v of values) sum += v;
  const mean = sum / n;
  let squares = 0;
  for (const v of values) squares += (v - mean) ** 2;
  const scatter = Math.sqrt(squares / (n - 1));
  return { mean, meanError: scatter / Math.sqrt(n), scatter, scatterError: scatter / Math.sqrt(2 * (n - 1)) };
}
