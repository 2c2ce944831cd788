/** Numbers over runs: rms, peaks and offsets, with standard errors from the spread between runs. */
import { type Estimate, meanOf } from '../trials/statistics.ts';

/**
 * Position errors on both axes over a stretch of time, arcsec, from the set point at the start of the run.
 */
export interface AxisErrors {
  readonly rmsX: Estimate;
  readonly rmsY: Estimate;
  /** Largest distance from the set point in a run, mean over runs. */
  readonly peakX: Estimate;
  readonly peakY: Estimate;
}

/** An offset on both axes over runs, arcsec. */
export interface Offset {
  readonly meanX: Estimate;
  readonly meanY: Estimate;
  readonly rmsX: Estimate;
  readonly rmsY: Estimate;
}

/** Mean square and peak of one stretch of one run. */
interface Stretch {
  readonly meanSquareX: number;
  readonly meanSquareY: number;
  readonly peakX: number;
  readonly peakY: number;
}

export function stretchOf(errorX: Float64Array, errorY: Float64Array, from: number, to: number): Stretch {
  const x = squareAndPeak(errorX, from, to);
  const y = squareAndPeak(errorY, from, to);
  return { meanSquareX: x.meanSquare, meanSquareY: y.meanSquare, peakX: x.peak, peakY: y.peak };
}

function squareAndPeak(error: Float64Array, from: number, to: number): { meanSquare: number; peak: number } {
  let sum = 0;
  let peak = 0;
  for (let i = from; i < to; i++) {
    sum += error[i] * error[i];
    peak = Math.max(peak, Math.abs(error[i]));
  }
  return { meanSquare: to > from ? sum / (to - from) : 0, peak };
}

export function axisErrors(stretches: readonly Stretch[]): AxisErrors {
  return {
    rmsX: rootOfMean(stretches.map((stretch) => stretch.meanSquareX)),
    rmsY: rootOfMean(stretches.map((stretch) => stretch.meanSquareY)),
    peakX: meanOfRuns(stretches.map((stretch) => stretch.peakX)),
    peakY: meanOfRuns(stretches.map((stretch) => stretch.peakY)),
  };
}

export function offsetOf(places: readonly { readonly x: number; readonly y: number }[]): Offset {
  const x = places.map((place) => place.x);
  const y = places.map((place) => place.y);
  return {
    meanX: meanOfRuns(x),
    meanY: meanOfRuns(y),
    rmsX: rootOfMean(x.map((value) => value * value)),
    rmsY: rootOfMean(y.map((value) => value * value)),
  };
}

export function meanOfRuns(values: readonly number[]): Estimate {
  return meanOf(Float64Array.from(values));
}

/** Root of the mean of squares, with the error that the spread of the squares between runs gives. */
function rootOfMean(squares: readonly number[]): Estimate {
  const mean = meanOfRuns(squares);
  const value = Math.sqrt(mean.value);
  return { value, standardError: value === 0 ? 0 : mean.standardError / (2 * value) };
}
