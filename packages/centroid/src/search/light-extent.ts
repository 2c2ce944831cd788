/** How far the light of one star reaches: its center, flux and the circles that hold given shares of it. */
import { type LightView, lightAt } from '../pixels/image-view.ts';
import { discLight, type LightLevel } from './disc-light.ts';
import { type RemovedLight, removedLight } from './removed-light.ts';
import { measureSurroundings, ringMedian } from './surroundings.ts';

/** Light about one place; its level, just outside, is that where the circle was last drawn about. */
export interface LightExtent extends LightLevel {
  /** Electrons within `radius`, above `level`. */
  readonly flux: number;
  /** Radius that holds half, and nine tenths, of the flux, px. */
  readonly halfRadius: number;
  readonly lightRadius: number;
  /** Radius the flux was summed to, px. */
  readonly radius: number;
}

/** Share of the flux by which the light's radius is named. */
const lightShare = 0.9;

/** The flux is summed to so many light radii and px beyond. */
const margin = 1.4;
const marginPx = 2;

const passes = 8;

/** A ring counts as lit while it stands this many of its own sigmas above the level further out. */
const litSigmas = 2.5;

/** Bins of the growth curve, a px. */
const binsPerPx = 4;

/**
 * Grow the circle about (x, y) until it holds the light: where the growth curve no longer stands out of its
 * noise the light ends, and center of mass, flux and light radius are those within; then a circle of 1.4
 * light radii + 2 px, until it no longer changes. Level and slope come from a ring outside.
 *
 * @param radius   to begin with, px
 * @param largest  radius it may grow to, px
 * @param sigma    noise of a pixel, electrons
 * @returns undefined when no positive flux is found
 */
export function measureExtent(
  pixels: Float32Array,
  width: number,
  height: number,
  startX: number,
  startY: number,
  startRadius: number,
  largest: number,
  sigma: number,
): LightExtent | undefined {
  let x = startX;
  let y = startY;
  let radius = Math.min(startRadius, largest);
  let found: LightExtent | undefined;
  for (let pass = 0; pass < passes; pass++) {
    const growth = new Float64Array(Math.ceil(radius * binsPerPx) + 2);
    const number = new Float64Array(growth.length);
    const level = { x, y, ...measureSurroundings(pixels, width, height, x, y, radius, sigma) };
    // The last bins may reach a little beyond the circle.
    const reach = growth.length / binsPerPx;
    const { count, r, value, dx, dy } = discLight(pixels, width, height, level, x, y, reach);
    for (let k = 0; k < count; k++) {
      if (!(r[k] < radius)) continue;
      const bin = (r[k] * binsPerPx) | 0;
      growth[bin] += value[k];
      number[bin]++;
    }
    const bins = endOfLight(growth, number, sigma);
    const end = bins / binsPerPx;
    let flux = 0;
    let sumX = 0;
    let sumY = 0;
    for (let k = 0; k < count; k++) {
      if (!(r[k] < end)) continue;
      flux += value[k];
      sumX += value[k] * dx[k];
      sumY += value[k] * dy[k];
    }
    if (!(flux > 0)) return found;
    const lightRadius = radiusOfShare(growth, lightShare * flux);
    found = {
      ...level,
      x: x + sumX / flux,
      y: y + sumY / flux,
      flux,
      halfRadius: radiusOfShare(growth, 0.5 * flux),
      lightRadius,
      radius: end,
    };
    const next = Math.min(largest, margin * lightRadius + marginPx);
    const settled = Math.abs(next - radius) < 0.25 && Math.abs(found.x - x) + Math.abs(found.y - y) < 0.05;
    // A center that leaves its own circle is noise
    if (!((found.x - startX) ** 2 + (found.y - startY) ** 2 < largest * largest)) return undefined;
    ({ x, y } = found);
    radius = next;
    if (settled) break;
  }
  return found;
}

/** The light about a candidate, followed outward to where it ends. */
export function extentOf(
  pixels: Float32Array,
  width: number,
  height: number,
  { x, y, side }: { readonly x: number; readonly y: number; readonly side: number },
  largestRadius: number,
  sigma: number,
): LightExtent | undefined {
  const start = 0.75 * side + 2;
  const largest = Math.min(start + 0.85 * side, largestRadius);
  return measureExtent(pixels, width, height, x, y, start, largest, sigma);
}

/**
 * Number of bins after which nothing more stands out: the least b for which no sum over b..c exceeds its
 * noise by `litSigmas`.
 */
function endOfLight(growth: Float64Array, number: Float64Array, sigma: number): number {
  let b = 1;
  for (let c = b, sum = 0, pixels = 0; c < growth.length; c++) {
    sum += growth[c];
    pixels += number[c];
    if (pixels === 0 || !(sum > litSigmas * sigma * Math.sqrt(pixels))) continue;
    c = b++;
    sum = pixels = 0;
  }
  return b;
}

/** First radius at which the growth curve reaches `target`, between the bins by a straight line. */
function radiusOfShare(growth: Float64Array, target: number): number {
  let sum = 0;
  for (let i = 0; i < growth.length; i++) {
    const next = sum + growth[i];
    if (next >= target) return (i + (growth[i] > 0 ? (target - sum) / growth[i] : 0)) / binsPerPx;
    sum = next;
  }
  return growth.length / binsPerPx;
}

/** Highest usable pixel within `radius` of a light, electrons above its level; 0 when there is none. */
export function highestWithin(
  pixels: Float32Array,
  width: number,
  height: number,
  extent: LightExtent,
  radius: number,
): number {
  const { count, value } = discLight(pixels, width, height, extent, extent.x, extent.y, radius);
  return value.subarray(0, count).reduce((highest, light) => Math.max(highest, light), 0);
}

/** Share of the usable pixels within `radius` of a place that stand at or above `limit`. */
export function shareAtOrAbove(
  view: LightView,
  { x, y }: LightExtent,
  radius: number,
  limit: number,
): number {
  let all = 0;
  let above = 0;
  const right = Math.min(view.width - 1, Math.floor(x + radius));
  const bottom = Math.min(view.height - 1, Math.floor(y + radius));
  for (let j = Math.max(0, Math.ceil(y - radius)); j <= bottom; j++)
    for (let i = Math.max(0, Math.ceil(x - radius)); i <= right; i++) {
      const light = lightAt(view, i, j);
      if (!(Math.sqrt((i - x) ** 2 + (j - y) ** 2) < radius) || !Number.isFinite(light)) continue;
      all++;
      if (light >= limit) above++;
    }
  return above / Math.max(1, all);
}

/** How far beyond the measured radius a bright star's wings are followed: to so many radii and px. */
const wingReach = 3;
const wingReachPx = 20;

/**
 * Level out the light about a place: everything within `radius`, and further out as long as rings of 1 px
 * stand above the level beyond (the wings of a bright star would pass for stars around it).
 *
 * @returns what was taken out
 */
export function eraseLight(
  pixels: Float32Array,
  width: number,
  height: number,
  x: number,
  y: number,
  radius: number,
  sigma: number,
): RemovedLight {
  const farthest = wingReach * radius + wingReachPx;
  let r = radius;
  // a large light ends no sharper than a twentieth of its radius
  for (; r < farthest; r += Math.max(1, Math.floor(r / 20))) {
    const beyond = ringMedian(pixels, width, height, x, y, r + 2, 1.3 * r + 6);
    const ring = ringMedian(pixels, width, height, x, y, r, r + 1);
    if (!(ring - beyond > (litSigmas * sigma) / Math.sqrt(2 * Math.PI * (r + 1)))) break;
  }
  const { level, slopeX, slopeY } = measureSurroundings(pixels, width, height, x, y, r, sigma);
  const left = Math.max(0, Math.ceil(x - r));
  const top = Math.max(0, Math.ceil(y - r));
  const columns = Math.max(0, Math.min(width - 1, Math.floor(x + r)) + 1 - left);
  const rows = Math.max(0, Math.min(height - 1, Math.floor(y + r)) + 1 - top);
  const loss = new Float64Array(columns * rows);
  for (let j = 0, at = 0; j < rows; j++)
    for (let i = 0; i < columns; i++, at++) {
      const dx = left + i - x;
      const dy = top + j - y;
      const k = (top + j) * width + left + i;
      const before = pixels[k];
      if (dx * dx + dy * dy > r * r || !Number.isFinite(before)) continue;
      pixels[k] = level + slopeX * dx + slopeY * dy;
      loss[at] = before - pixels[k];
    }
  return removedLight(loss, left, top, columns, rows);
}
