/**
 * Where light of a known shape stands out of a whole frame: the matched filter at every place, by fast
 * Fourier transforms of squares that overlap (overlap-save). It finds a faint star by all of its light at
 * once, a level about it taken off.
 */
import type { FrameLight } from '@holdfast/centroid/internal';
import { planFourier2d, sigmaPerMedianDeviation } from '@holdfast/psf/numerics';
import { cellMedians } from './cell-medians.ts';
import { aroundShare, profileAt, type StarProfile } from './star-profile.ts';

/** A place where the frame holds light of the shape, px. */
export interface MatchPeak {
  readonly x: number;
  readonly y: number;
  /** Light over its scatter there: that of the pixels' noise, or of what the frame holds about it. */
  readonly significance: number;
}

/** Bins over the radius that the shape reaches to, at least: wider bins would blur it. */
const binsPerReach = 9;
/** The scatter counts as that of noise and what the level about a star adds to it, at least. */
const leastScatter = 1.15;
/** Side of the squares that are transformed, bins. */
const side = 256;
/** Side of the squares whose median tells the scatter there, in reaches of the shape. */
const cellReaches = 12;

/**
 * @param frame  its background taken off; non-finite pixels count as none
 * @returns the local maxima above `least`, the one that stands out most first
 */
export function matchPeaks(
  { pixels, width, height, sigma }: FrameLight,
  profile: StarProfile,
  least: number,
): MatchPeak[] {
  const bin = Math.max(1, Math.floor(profile.reachPx / binsPerReach));
  const columns = Math.floor(width / bin);
  const rows = Math.floor(height / bin);
  const map = binned(pixels, width, columns, rows, bin);
  filter(map, columns, rows, kernelOf(profile, bin), sigma);
  const sizes = map.map(Math.abs);
  const cell = cellReaches * (profile.reachPx / bin);
  const scatter = cellMedians(sizes, columns, rows, cell);
  const peaks: MatchPeak[] = [];
  for (let j = 1; j < rows - 1; j++)
    for (let i = 1; i < columns - 1; i++) {
      const k = j * columns + i;
      const value = map[k];
      if (!(value > least) || !isPeak(map, k, columns)) continue;
      const significance = value / Math.max(leastScatter, sigmaPerMedianDeviation * scatter.at(i, j));
      if (significance > least)
        peaks.push({ x: bin * i + (bin - 1) / 2, y: bin * j + (bin - 1) / 2, significance });
    }
  return peaks.sort((a, b) => b.significance - a.significance);
}

function isPeak(map: Float32Array, k: number, columns: number): boolean {
  for (let down = -1; down <= 1; down++)
    for (let across = -1; across <= 1; across++) {
      const at = k + down * columns + across;
      if (at < k ? map[at] >= map[k] : at > k && map[at] > map[k]) return false;
    }
  return true;
}

/** Sums over squares of pixels, scaled so that their noise is that of a pixel. */
function binned(
  pixels: Float32Array,
  width: number,
  columns: number,
  rows: number,
  bin: number,
): Float32Array {
  const out = new Float32Array(columns * rows);
  for (let y = 0; y < rows * bin; y++) {
    const row = Math.floor(y / bin) * columns;
    for (let i = 0, k = y * width; i < columns; i++) {
      let sum = 0;
      for (let u = 0; u < bin; u++, k++) sum += pixels[k];
      out[row + i] += sum;
    }
  }
  for (let k = 0; k < out.length; k++) out[k] = Number.isFinite(out[k]) ? out[k] / bin : 0;
  return out;
}

/** The filter: the shape less its mean over the disc about it, of which the squares sum to 1. */
interface Kernel {
  /** Bins that it reaches to either side. */
  readonly reach: number;
  /** Row by row, 2 reach + 1 to a side. */
  readonly values: Float64Array;
}

function kernelOf(profile: StarProfile, bin: number): Kernel {
  const reach = Math.ceil((aroundShare * profile.reachPx) / bin);
  const wide = 2 * reach + 1;
  const values = new Float64Array(wide * wide);
  let [sum, count] = [0, 0];
  const inDisc = (k: number): number => {
    const r = bin * Math.sqrt(((k % wide) - reach) ** 2 + (Math.floor(k / wide) - reach) ** 2);
    return r <= aroundShare * profile.reachPx ? r : -1;
  };
  for (let k = 0; k < values.length; k++) {
    const r = inDisc(k);
    if (r < 0) continue;
    values[k] = profileAt(profile, r);
    sum += values[k];
    count++;
  }
  let square = 0;
  for (let k = 0; k < values.length; k++) {
    if (inDisc(k) < 0) continue;
    values[k] -= sum / count;
    square += values[k] ** 2;
  }
  for (let k = 0; k < values.length; k++) values[k] /= Math.sqrt(square);
  return { reach, values };
}

/**
 * Replace an image by its filtered one, in sigmas. Beyond its edges it counts as 0. Two squares are
 * transformed at once, one as the real, one as the imaginary part: the filter is symmetric, so its transform
 * is real and keeps them apart.
 */
function filter(
  image: Float32Array,
  columns: number,
  rows: number,
  { reach, values }: Kernel,
  sigma: number,
): void {
  const plan = planFourier2d(side);
  const data = new Float64Array(2 * side * side);
  const wide = 2 * reach + 1;
  for (let k = 0; k < values.length; k++) {
    const row = (Math.floor(k / wide) - reach + side) % side;
    const column = ((k % wide) - reach + side) % side;
    data[2 * (row * side + column)] = values[k];
  }
  plan.forward(data);
  const transfer = new Float64Array(side * side);
  for (let k = 0; k < transfer.length; k++) transfer[k] = data[2 * k] / sigma;

  const usable = side - 2 * reach;
  const across = Math.ceil(columns / usable);
  const squares = across * Math.ceil(rows / usable);
  const source = image.slice();
  /** Column and row of the first usable bin of a square. */
  const first = (square: number): readonly [number, number] => [
    (square % across) * usable,
    Math.floor(square / across) * usable,
  ];
  for (let square = 0; square < squares; square += 2) {
    data.fill(0);
    for (let part = 0; part < 2 && square + part < squares; part++) {
      const [left, top] = first(square + part);
      const end = Math.min(columns, left + usable + reach);
      for (let y = Math.max(0, top - reach); y < Math.min(rows, top + usable + reach); y++)
        for (let x = Math.max(0, left - reach); x < end; x++)
          data[2 * ((y - top + reach) * side + x - left + reach) + part] = source[y * columns + x];
    }
    plan.forward(data);
    for (let k = 0; k < transfer.length; k++) {
      data[2 * k] *= transfer[k];
      data[2 * k + 1] *= transfer[k];
    }
    plan.inverse(data);
    for (let part = 0; part < 2 && square + part < squares; part++) {
      const [left, top] = first(square + part);
      const end = Math.min(columns, left + usable);
      for (let y = top; y < Math.min(rows, top + usable); y++)
        for (let x = left; x < end; x++)
          image[y * columns + x] = data[2 * ((y - top + reach) * side + x - left + reach) + part];
    }
  }
}
