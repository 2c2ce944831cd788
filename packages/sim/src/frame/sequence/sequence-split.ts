/**
 * One estimator's positions over a sequence, split into what all stars do together and what each does alone.
 */

import { fitLine, median, scaledByScatter, sigmaPerMedianDeviation } from '@holdfast/psf/numerics';
import type { Estimate } from '../../trials/statistics.ts';
import { type CommonMotion, frameFactors, separateMotion, type Track } from './common-motion.ts';
import { betweenSteps, findSteps, type MotionStep } from './motion-steps.ts';
import { commonFactor, ownVariances } from './noise-split.ts';
import type { TrackPoint } from './sequence-records.ts';

/** Where a star's noise was taken from. */
export type NoiseSource =
  /** differences of three stars or more: each star's own */
  | 'differences'
  /** the one difference of two stars, split between them as their stated errors are */
  | 'one difference'
  /** one star alone: its stated errors, which nothing here checks */
  | 'stated errors';

/** Of one star by one estimator; px, one axis (both axes together). */
export interface StarSplit {
  /** Positions that were used. */
  readonly framesUsed: number;
  /** Left out: more than six times as far from the rest as is usual. */
  readonly outliers: number;
  /** Scatter of the position over the sequence, all included. */
  readonly scatterPx: Estimate;
  /**
   * What of it the other stars do not share: the noise of the position, and air that blurs stars one by one.
   */
  readonly noisePx: Estimate;
  /** Where its noise was taken from. */
  readonly noiseFrom: NoiseSource;
  /** Root mean square of the errors that the estimator stated. */
  readonly statedPx: number;
  /** noisePx over statedPx: 1 when the stated errors are right. */
  readonly perStated: Estimate;
}

/** Along one axis of the frame. */
export interface AxisMotion {
  /** Root mean square of the common motion about its mean, the noise taken off; of these very frames. */
  readonly rmsPx: Estimate;
  /** The same about its straight line. */
  readonly wanderPx: Estimate;
  /**
   * Slope of that line, px/s (px per frame where times are not known); its error as if the wander were not of
   * one piece.
   */
  readonly drift: Estimate;
}

/** One estimator's positions split into common motion and noise. */
export interface EstimatorSplit {
  /** In the order of the sequence's stars; undefined for one with fewer than three positions. */
  readonly stars: readonly (StarSplit | undefined)[];
  /** Noise over stated errors, one factor for all stars: undefined with one star. */
  readonly perStated: Estimate | undefined;
  /** What all stars do together. */
  readonly motion: { readonly x: AxisMotion; readonly y: AxisMotion };
  /** Error of the common motion on a frame with all stars, px, one axis. */
  readonly motionErrorPx: number;
  /** The common motion by frame, px from its mean, steps included. */
  readonly path: readonly { readonly frame: number; readonly x: number; readonly y: number }[];
  /** Places where all stars jumped alike and stayed: dithers, corrections. `motion` is that between them. */
  readonly steps: readonly MotionStep[];
}

interface Clock {
  readonly times: readonly number[];
  readonly timed: boolean;
}

const leastFrames = 3;
/** Positions farther from the rest than this many times the usual are left out. */
const outlierFrom = 6;

/** @param points  by star; undefined when no star has three positions */
export function splitMotion(
  points: readonly (readonly TrackPoint[])[],
  { times }: Clock,
): EstimatorSplit | undefined {
  const frames = times.length;
  const kept = points.flatMap((list, star) => (list.length >= leastFrames ? [{ star, list }] : []));
  if (kept.length === 0) return undefined;
  const tracks = kept.map(({ list }) => tracksOf(list, frames));
  const outliers = tracks.map(() => 0);
  const both = (): [CommonMotion, CommonMotion] => [
    separateMotion(
      tracks.map(({ x }) => x),
      frames,
    ),
    separateMotion(
      tracks.map(({ y }) => y),
      frames,
    ),
  ];
  let [x, y] = both();
  if (tracks.length > 1 && dropOutliers(tracks, x, y, outliers)) [x, y] = both();

  const varianceX = ownVariances(
    tracks.map((track) => track.x),
    x,
  );
  const varianceY = ownVariances(
    tracks.map((track) => track.y),
    y,
  );
  const own = tracks.map((track, i): { variance: Estimate; from: NoiseSource } => {
    if (varianceX === undefined || varianceY === undefined)
      return {
        variance: { value: (track.x.sigma ** 2 + track.y.sigma ** 2) / 2, standardError: 0 },
        from: 'stated errors',
      };
    return {
      variance: meanOfTwo(varianceX[i], varianceY[i]),
      from: tracks.length > 2 ? 'differences' : 'one difference',
    };
  });
  const stars: (StarSplit | undefined)[] = points.map(() => undefined);
  for (const [i, { star }] of kept.entries()) stars[star] = starSplit(tracks[i], own[i], outliers[i]);

  const weights = tracks.map((track) => 1 / (track.x.sigma * track.y.sigma));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  const common = weights.reduce(
    (sum, weight, i) => ({
      value: sum.value + (weight / total) ** 2 * own[i].variance.value,
      standardError: Math.sqrt(
        sum.standardError ** 2 + ((weight / total) ** 2 * own[i].variance.standardError) ** 2,
      ),
    }),
    { value: 0, standardError: 0 },
  );
  const path: { frame: number; x: number; y: number }[] = [];
  for (let t = 0; t < frames; t++)
    if (x.starsSeen[t] > 0) path.push({ frame: t, x: x.common[t], y: y.common[t] });
  const factors = frameFactors(
    tracks.map((track) => track.x),
    frames,
  );
  const steps = findSteps(path);
  const between = betweenSteps(path, steps, times);
  const axis = (of: (at: (typeof between)[number]) => number) =>
    axisMotion(
      between.map((at) => ({ time: at.time, value: of(at), factor: factors[at.frame] })),
      common,
      steps.length,
    );
  const perStated = [
    commonFactor(
      tracks.map((track) => track.x),
      x,
    ),
    commonFactor(
      tracks.map((track) => track.y),
      y,
    ),
  ] as const;
  return {
    stars,
    perStated: perStated[0] && perStated[1] && rootOf(meanOfTwo(perStated[0], perStated[1])),
    motion: { x: axis((at) => at.x), y: axis((at) => at.y) },
    motionErrorPx: Math.sqrt(Math.max(0, common.value)),
    path,
    steps,
  };
}

const meanOfTwo = (a: Estimate, b: Estimate): Estimate => ({
  value: (a.value + b.value) / 2,
  standardError: Math.sqrt(a.standardError ** 2 + b.standardError ** 2) / 2,
});

interface Tracks {
  readonly x: Track;
  readonly y: Track;
}

function tracksOf(list: readonly TrackPoint[], frames: number): Tracks {
  const seen = new Uint8Array(frames);
  const x = new Float64Array(frames);
  const y = new Float64Array(frames);
  for (const point of list) {
    seen[point.frame] = 1;
    x[point.frame] = point.x;
    y[point.frame] = point.y;
  }
  // one map of frames serves both axes: what is left out of one is left out of both
  const track = (values: Float64Array, of: (point: TrackPoint) => number): Track => {
    const variance = Math.max(1e-18, list.reduce((sum, point) => sum + of(point) ** 2, 0) / list.length);
    const perFrame = new Float64Array(frames).fill(1);
    for (const point of list) perFrame[point.frame] = Math.max(1e-3, of(point) ** 2 / variance);
    return { values, seen, sigma: Math.sqrt(variance), perFrame };
  };
  return { x: track(x, ({ sigmaX }) => sigmaX), y: track(y, ({ sigmaY }) => sigmaY) };
}

/** @returns whether any was left out */
function dropOutliers(
  tracks: readonly Tracks[],
  x: CommonMotion,
  y: CommonMotion,
  outliers: number[],
): boolean {
  let dropped = false;
  const factors = frameFactors(
    tracks.map((track) => track.x),
    x.starsSeen.length,
  );
  for (const [i, track] of tracks.entries()) {
    const { seen } = track.x;
    const far = Array.from(
      seen,
      (_, t) => Math.max(Math.abs(x.rests[i][t]), Math.abs(y.rests[i][t])) / Math.sqrt(factors[t]),
    );
    const usual = sigmaPerMedianDeviation * median(far.filter((_, t) => seen[t] === 1));
    for (let t = 0; t < seen.length; t++) {
      if (!seen[t] || x.starsSeen[t] < 2 || far[t] <= outlierFrom * usual) continue;
      // of two stars neither is known to be the wrong one
      seen[t] = 0;
      outliers[i]++;
      dropped = true;
    }
  }
  return dropped;
}

function starSplit(
  { x, y }: Tracks,
  { variance, from }: { variance: Estimate; from: NoiseSource },
  outliers: number,
): StarSplit {
  const framesUsed = x.seen.reduce((sum, seen) => sum + seen, 0);
  const scatter2 = (varianceOf(x) + varianceOf(y)) / 2;
  const noisePx = rootOf(variance);
  const statedPx = Math.sqrt((x.sigma ** 2 + y.sigma ** 2) / 2);
  return {
    framesUsed,
    outliers,
    scatterPx: rootOf({ value: scatter2, standardError: scatter2 / Math.sqrt(Math.max(1, framesUsed - 1)) }),
    noisePx,
    noiseFrom: from,
    statedPx,
    perStated: { value: noisePx.value / statedPx, standardError: noisePx.standardError / statedPx },
  };
}

function varianceOf({ values, seen }: Track): number {
  let [sum, count] = [0, 0];
  for (let t = 0; t < values.length; t++)
    if (seen[t]) {
      sum += values[t];
      count++;
    }
  const mean = sum / Math.max(1, count);
  let squares = 0;
  for (let t = 0; t < values.length; t++) if (seen[t]) squares += (values[t] - mean) ** 2;
  return squares / Math.max(1, count - 1);
}

/**
 * Square root of a variance that noise may have made negative: then 0, with an error that reaches its upper
 * end.
 */
function rootOf({ value, standardError }: Estimate): Estimate {
  if (!(value > standardError)) {
    const top = Math.sqrt(Math.max(0, value + standardError));
    const root = Math.sqrt(Math.max(0, value));
    return { value: root, standardError: Math.max(top - root, 0) };
  }
  const root = Math.sqrt(value);
  return { value: root, standardError: standardError / (2 * root) };
}

/**
 * Each frame counts by the inverse of its variance squared, that of the motion and its own noise together: as
 * weights that hardly matter to the answer they are taken from the answer before.
 *
 * @param noise  variance of a value that is not motion, times the value's factor
 * @param steps  how many, each of which took a mean of its own
 */
function axisMotion(
  values: readonly { readonly time: number; readonly value: number; readonly factor: number }[],
  noise: Estimate,
  steps: number,
): AxisMotion {
  const n = values.length;
  const own = values.map(({ factor }) => Math.max(0, noise.value) * factor);
  const motion = (rests: readonly number[], fitted: number): Estimate => {
    let variance = rests.reduce((sum, rest, k) => sum + rest * rest - own[k], 0) / n;
    let error = 0;
    for (let round = 0; round < 3; round++) {
      const usual = Math.max(0, variance) + Math.max(0, noise.value) / 10 + 1e-18;
      const weights = own.map((one) => 1 / (usual + one) ** 2);
      const total = weights.reduce((sum, weight) => sum + weight, 0);
      let [sum, drawn, perNoise] = [0, 0, 0];
      for (const [k, weight] of weights.entries()) {
        sum += weight * (rests[k] ** 2 - (own[k] * (n - fitted)) / n);
        // of these frames: the motion is what it was, only the noise was drawn
        drawn += weight ** 2 * (4 * Math.max(0, variance) * own[k] + 2 * own[k] ** 2);
        perNoise += weight * values[k].factor;
      }
      variance = sum / total;
      error = Math.sqrt(drawn / total ** 2 + ((perNoise / total) * noise.standardError) ** 2);
    }
    return rootOf({ value: variance, standardError: error });
  };
  const spread = values.reduce((sum, { value }) => sum + value * value, 0) / Math.max(1, n);
  const line = fitLine(
    values.map(({ time, value }, k) => ({ x: time, y: value, sigma: Math.sqrt(spread + own[k]) || 1 })),
  );
  const weights = own.map((one) => 1 / (spread + one + 1e-18));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  const mean = values.reduce((sum, { value }, k) => sum + weights[k] * value, 0) / total;
  const aboutMean = values.map(({ value }) => value - mean);
  if (line === undefined)
    return {
      rmsPx: motion(aboutMean, 1),
      wanderPx: motion(aboutMean, 1),
      drift: { value: 0, standardError: 0 },
    };
  const { slope, offset, x0 } = scaledByScatter(line, 0);
  return {
    rmsPx: motion(aboutMean, 1 + steps),
    wanderPx: motion(
      values.map(({ time, value }) => value - offset.value - slope.value * (time - x0)),
      2 + steps,
    ),
    drift: slope,
  };
}
