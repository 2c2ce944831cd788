/**
 * What stars of a sequence do together, along one axis:
 *
 *   x_it = place_i + common_t + rest_it
 *
 * by least squares with a weight for each star and each frame, for stars that need not be seen on every
 * frame. The common motion has a mean of 0 over the frames; the rest is what a star does alone: the noise of
 * its position, and what air and optics do to it only.
 */

/** Positions of one star by frame. */
export interface Track {
  readonly values: Float64Array;
  /** 1 where the star was measured. */
  readonly seen: Uint8Array;
  /** Typical error of a value, > 0: the star counts as its inverse square. */
  readonly sigma: number;
  /** Variance of each frame over sigma squared, as stated: clouds. Default: 1 on all. */
  readonly perFrame?: Float64Array;
}

/** Variance of a frame over the usual one: the mean over the stars seen, 1 where nothing is stated. */
export function frameFactors(tracks: readonly Track[], frames: number): Float64Array {
  return Float64Array.from({ length: frames }, (_, t) => {
    let [sum, count] = [0, 0];
    for (const { seen, perFrame } of tracks)
      if (seen[t]) {
        sum += perFrame?.[t] ?? 1;
        count++;
      }
    return count > 0 ? sum / count : 1;
  });
}

export interface CommonMotion {
  readonly places: Float64Array;
  readonly common: Float64Array;
  /** Stars on each frame: without any, the common motion is not known there. */
  readonly starsSeen: Uint8Array;
  /** By star and frame; 0 where it was not seen. */
  readonly rests: readonly Float64Array[];
}

const mostRounds = 500;

export function separateMotion(tracks: readonly Track[], frames: number): CommonMotion {
  const weights = tracks.map(({ sigma }) => 1 / (sigma * sigma));
  const places = Float64Array.from(tracks, meanSeen);
  const common = new Float64Array(frames);
  const starsSeen = new Uint8Array(frames);
  const factors = frameFactors(tracks, frames);
  for (const { seen } of tracks) for (let t = 0; t < frames; t++) starsSeen[t] += seen[t];
  for (let round = 0; round < mostRounds; round++) {
    let total = 0;
    let framesKnown = 0;
    for (let t = 0; t < frames; t++) {
      if (starsSeen[t] === 0) continue;
      let [sum, weight] = [0, 0];
      for (const [i, { values, seen }] of tracks.entries()) {
        if (!seen[t]) continue;
        sum += weights[i] * (values[t] - places[i]);
        weight += weights[i];
      }
      common[t] = sum / weight;
      total += common[t];
      framesKnown++;
    }
    const mean = framesKnown > 0 ? total / framesKnown : 0;
    let moved = 0;
    for (const [i, { values, seen }] of tracks.entries()) {
      let [sum, count] = [0, 0];
      for (let t = 0; t < frames; t++)
        if (seen[t]) {
          sum += (values[t] - common[t] + mean) / factors[t];
          count += 1 / factors[t];
        }
      const place = count > 0 ? sum / count : 0;
      moved = Math.max(moved, Math.abs(place - places[i]));
      places[i] = place;
    }
    if (moved < 1e-9) break;
  }
  const rests = tracks.map(({ values, seen }, i) =>
    values.map((value, t) => (seen[t] ? value - places[i] - common[t] : 0)),
  );
  return { places, common, starsSeen, rests };
}

function meanSeen({ values, seen }: Track): number {
  let [sum, count] = [0, 0];
  for (let t = 0; t < values.length; t++)
    if (seen[t]) {
      sum += values[t];
      count++;
    }
  return count > 0 ? sum / count : 0;
}
