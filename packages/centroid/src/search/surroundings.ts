/**
 * Level and slope of the light around a star, from medians of a ring, which a neighbor in it hardly moves.
 */
import { medianOf } from '@holdfast/psf/numerics';
import { type NearbyLight, ringLight } from './disc-light.ts';

export interface Surroundings {
  /** Electrons per pixel at the center of the ring. */
  readonly level: number;
  /** Electrons per px; 0 unless they stand out of their noise. */
  readonly slopeX: number;
  readonly slopeY: number;
}

/** The ring begins this far beyond the radius and is so wide: px, and share of the radius. */
const gapPx = 1;
const widthPx = 3;
const widthShare = 0.3;

/** A slope of fewer sigmas is noise: subtracting it would only move the star. */
const leastSlopeSigmas = 3;

/** Standard error of a median over that of a mean, for normal noise. */
const medianNoise = Math.sqrt(Math.PI / 2);

/** Level and slope from the ring just beyond `radius` about (x, y). Zero where no pixel is usable. */
export function measureSurroundings(
  pixels: Float32Array,
  width: number,
  height: number,
  x: number,
  y: number,
  radius: number,
  sigma: number,
): Surroundings {
  const inner = radius + gapPx;
  const outer = inner + Math.max(widthPx, widthShare * radius);
  const ring = ringLight(pixels, width, height, x, y, inner, outer);
  if (ring.count === 0) return { level: 0, slopeX: 0, slopeY: 0 };
  const middle = middleOf(ring);
  if (isSurelyLevel(ring, middle, sigma)) return { level: middle, slopeX: 0, slopeY: 0 };
  const slopeX = slopeAlong(ring.dx, ring, sigma);
  const slopeY = slopeAlong(ring.dy, ring, sigma);
  const { count, dx, dy, value } = ring;
  for (let k = 0; k < count; k++) value[k] -= slopeX * dx[k] + slopeY * dy[k];
  return { level: medianOf(value, count), slopeX, slopeY };
}

/** Median of the light in a ring, which stays in its order. */
function middleOf({ count, value }: NearbyLight): number {
  makeRoom(count);
  for (let k = 0; k < count; k++) halves[0][k] = value[k];
  return medianOf(halves[0], count);
}

/**
 * Whether the medians of all four halves lie so near to that of the whole ring that no slope can stand out of
 * its noise. Counting tells that of most rings, in less time than these medians take.
 */
function isSurelyLevel(ring: NearbyLight, middle: number, sigma: number): boolean {
  const { count, dy } = ring;
  // Half of the least difference that is a slope, were both halves as large as can be, less rounding
  const reach = ((1 - 1e-9) * leastSlopeSigmas * medianNoise * sigma) / Math.sqrt(count);
  // Rows come from top to bottom.
  let above = 0;
  while (above < count && dy[above] < 0) above++;
  let below = above;
  while (below < count && dy[below] === 0) below++;
  const top = countLight(ring, 0, above, middle - reach, middle + reach);
  const row = countLight(ring, above, below, middle - reach, middle + reach);
  const bottom = countLight(ring, below, count, middle - reach, middle + reach);
  const sum = (of: keyof LightCount): number => top[of] + row[of] + bottom[of];
  return (
    isMedianAmong(above, top.faint, top.bright) &&
    isMedianAmong(count - below, bottom.faint, bottom.bright) &&
    isMedianAmong(sum('left'), sum('leftFaint'), sum('leftBright')) &&
    // What is not on the left may stand in the middle: rather too many.
    isMedianAmong(sum('right'), sum('faint') - sum('leftFaint'), sum('bright') - sum('leftBright'))
  );
}

/** Whether the median of so many values is surely none of the faint or bright ones. */
const isMedianAmong = (count: number, faint: number, bright: number): boolean =>
  count - Math.max(faint, bright) > count >> 1;

/** Pixels left and right of the middle; those fainter and brighter than a range, on the left and all. */
interface LightCount {
  readonly left: number;
  readonly right: number;
  readonly leftFaint: number;
  readonly leftBright: number;
  readonly faint: number;
  readonly bright: number;
}

function countLight(
  { dx, value }: NearbyLight,
  from: number,
  to: number,
  lowest: number,
  highest: number,
): LightCount {
  let [left, right, leftFaint, leftBright, faint, bright] = [0, 0, 0, 0, 0, 0];
  // No branch on noise, which a processor would guess wrong half of the time
  for (let k = from; k < to; k++) {
    const isLeft = +(dx[k] < 0);
    const isFaint = +(value[k] < lowest);
    const isBright = +(value[k] > highest);
    left += isLeft;
    right += +(dx[k] > 0);
    leftFaint += isLeft & isFaint;
    leftBright += isLeft & isBright;
    faint += isFaint;
    bright += isBright;
  }
  return { left, right, leftFaint, leftBright, faint, bright };
}

/** Median of the usable pixels between two radii; 0 when there are none. */
export function ringMedian(
  pixels: Float32Array,
  width: number,
  height: number,
  x: number,
  y: number,
  inner: number,
  outer: number,
): number {
  const { count, value } = ringLight(pixels, width, height, x, y, inner, outer);
  return count === 0 ? 0 : medianOf(value, count);
}

/** Values on either side of the middle, held between calls, of which a search makes thousands. */
let halves = [new Float64Array(0), new Float64Array(0)];

function makeRoom(count: number): void {
  if (halves[0].length < count) halves = halves.map(() => new Float64Array(2 * count));
}

/**
 * Difference of the medians of both halves over the distance of their middles, where it stands out of its
 * noise.
 */
function slopeAlong(d: Float64Array, { count, value }: NearbyLight, sigma: number): number {
  makeRoom(count);
  const [lower, upper] = halves;
  let below = 0;
  let above = 0;
  let sumBelow = 0;
  let sumAbove = 0;
  for (let k = 0; k < count; k++)
    if (d[k] < 0) {
      lower[below++] = value[k];
      sumBelow += d[k];
    } else if (d[k] > 0) {
      upper[above++] = value[k];
      sumAbove += d[k];
    }
  if (below < 3 || above < 3) return 0;
  const apart = sumAbove / above - sumBelow / below;
  const slope = (medianOf(upper, above) - medianOf(lower, below)) / apart;
  const slopeSigma = (medianNoise * sigma * Math.sqrt(1 / below + 1 / above)) / apart;
  return Math.abs(slope) > leastSlopeSigmas * slopeSigma ? slope : 0;
}
