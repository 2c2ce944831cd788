/**
 * Level and slope of the light around a star, from medians of a ring, which a neighbor in it hardly moves.
 */
import { medianOf } from '@holdfast/psf/numerics';

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
  const ring = collectRing(pixels, width, height, x, y, inner, outer);
  if (ring.count === 0) return { level: 0, slopeX: 0, slopeY: 0 };
  const slopeX = slopeAlong(ring.dx, ring, sigma);
  const slopeY = slopeAlong(ring.dy, ring, sigma);
  const { count, dx, dy, value } = ring;
  for (let k = 0; k < count; k++) value[k] -= slopeX * dx[k] + slopeY * dy[k];
  return { level: medianOf(value, count), slopeX, slopeY };
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
  const { count, value } = collectRing(pixels, width, height, x, y, inner, outer);
  return count === 0 ? 0 : medianOf(value, count);
}

interface Ring {
  readonly count: number;
  /** Column and row from the center, and electrons: valid until the next ring. */
  readonly dx: Float64Array;
  readonly dy: Float64Array;
  readonly value: Float64Array;
}

/** Held between calls, of which a search makes thousands; none calls another. */
let scratch = makeScratch(0);

function makeScratch(capacity: number) {
  return {
    dx: new Float64Array(capacity),
    dy: new Float64Array(capacity),
    value: new Float64Array(capacity),
    lower: new Float64Array(capacity),
    upper: new Float64Array(capacity),
  };
}

function reserve(capacity: number): ReturnType<typeof makeScratch> {
  if (scratch.value.length < capacity) scratch = makeScratch(2 * capacity);
  return scratch;
}

function collectRing(
  pixels: Float32Array,
  width: number,
  height: number,
  x: number,
  y: number,
  inner: number,
  outer: number,
): Ring {
  const top = Math.max(0, Math.ceil(y - outer));
  const bottom = Math.min(height - 1, Math.floor(y + outer));
  const left = Math.max(0, Math.ceil(x - outer));
  const right = Math.min(width - 1, Math.floor(x + outer));
  const { dx, dy, value } = reserve(Math.max(0, bottom - top + 1) * Math.max(0, right - left + 1));
  const inner2 = inner * inner;
  const outer2 = outer * outer;
  let count = 0;
  for (let j = top; j <= bottom; j++) {
    const y2 = (j - y) ** 2;
    // The hole is jumped over, but for a pixel at either end, where rounding decides.
    const hole = y2 < inner2 ? Math.sqrt(inner2 - y2) - 1 : -1;
    const holeFrom = hole > 0 ? Math.ceil(x - hole) : right + 1;
    const holeTo = hole > 0 ? Math.floor(x + hole) : right;
    for (let i = left; i <= right; i++) {
      if (i === holeFrom && holeTo > i) i = holeTo;
      const r2 = (i - x) ** 2 + y2;
      const v = pixels[j * width + i];
      if (r2 < inner2 || r2 > outer2 || !Number.isFinite(v)) continue;
      dx[count] = i - x;
      dy[count] = j - y;
      value[count] = v;
      count++;
    }
  }
  return { count, dx, dy, value };
}

/**
 * Difference of the medians of both halves over the distance of their middles, where it stands out of its
 * noise.
 */
function slopeAlong(d: Float64Array, { count, value }: Ring, sigma: number): number {
  const { lower, upper } = reserve(count);
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
