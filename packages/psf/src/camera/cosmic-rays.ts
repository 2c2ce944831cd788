/**
 * Cosmic rays: muons that cross the sensor and leave electrons along their track. What is kept simple:
 *
 * - The sensor lies level and is a layer of even depth. Muons come from above with an intensity that goes as
 *   cos^2 of the zenith angle, so that those through a level surface are distributed as cos^3 of it; steeper
 *   paths than 10 depths along the surface (one in 10,000) are shortened to that.
 * - Tracks are straight; electrons stay in the pixel in which they were freed, and lie evenly along the
 *   track.
 * - The electrons per um follow Moyal's approximation to Landau's distribution (Moyal 1955, Phil. Mag. 46,
 *   263), which has an exponential tail. It is drawn as -ln z^2 with a normal z, which has exactly Moyal's
 *   density.
 * - Natural radioactivity, whose electrons leave worm-like tracks and spots, is left out; raise the rate to
 *   stand for it.
 */

import type { RandomStream } from '../chance/random.ts';
import { log } from '../numerics/exp-log.ts';
import { requireNames } from '../numerics/options.ts';
import { requireNonNegative, requirePositive } from '../numerics/require.ts';
import type { ImageSize } from '../shapes/star-plan.ts';

/** Muons that cross the sensor. */
export interface CosmicRays {
  /**
   * Muons through the sensor, per cm^2 and minute: 1 at sea level (common rule of thumb), more on a mountain.
   */
  readonly ratePerCm2PerMin: number;
  /** Side of a pixel, um. */
  readonly pixelSizeUm: number;
  /** Depth from which electrons are collected, um. Default 5, a CMOS sensor (common practice, no source). */
  readonly depthUm?: number;
  /** Most probable electrons per um of the track. Default 80, as in silicon (textbook value, from memory). */
  readonly electronsPerUm?: number;
}

/** Longest track along the surface, in depths. */
const longestRun = 10;
const smallestCosine = 1 / Math.sqrt(1 + longestRun * longestRun);
/** Width of the distribution of electrons, as a share of the most probable number. */
const straggling = 0.1;

export function checkCosmicRays(rays: CosmicRays): void {
  requireNames('camera.cosmicRays', rays, 'ratePerCm2PerMin pixelSizeUm depthUm electronsPerUm');
  requireNonNegative('camera.cosmicRays.ratePerCm2PerMin', rays.ratePerCm2PerMin);
  requirePositive('camera.cosmicRays.pixelSizeUm', rays.pixelSizeUm);
  if (rays.depthUm !== undefined) requirePositive('camera.cosmicRays.depthUm', rays.depthUm);
  if (rays.electronsPerUm !== undefined)
    requirePositive('camera.cosmicRays.electronsPerUm', rays.electronsPerUm);
}

/** Adds the electrons of one exposure's muons to the charge of a stamp. */
export type CosmicShower = (charge: Float64Array, random: RandomStream) => void;

/**
 * Muons enter at random places of the stamp and of a margin around it as wide as the longest track, so that
 * the pixels at its border see as many as any other. The number that enter is Poisson.
 */
export function prepareCosmicRays(
  { ratePerCm2PerMin, pixelSizeUm, depthUm = 5, electronsPerUm = 80 }: CosmicRays,
  exposureS: number,
  { width, height }: ImageSize,
): CosmicShower {
  const depthPx = depthUm / pixelSizeUm;
  const margin = longestRun * depthPx;
  const entryWidth = width + 2 * margin;
  const entryHeight = height + 2 * margin;
  const pixelCm2 = (pixelSizeUm * 1e-4) ** 2;
  const muons = (ratePerCm2PerMin * entryWidth * entryHeight * pixelCm2 * exposureS) / 60;

  const track = { dx: 0, dy: 0, electrons: 0 };

  return (charge, random) => {
    const count = random.poisson(muons);
    for (let i = 0; i < count; i++) {
      // Here x and y are 0 at the outer border of the stamp's first pixel.
      const x = entryWidth * random.uniform() - margin;
      const y = entryHeight * random.uniform() - margin;
      drawTrack(track, depthPx, depthUm * electronsPerUm, random);
      addTrack(charge, width, height, x, y, track.dx, track.dy, track.electrons);
    }
  };
}

/**
 * Overwrite `track` with the way along the surface and the electrons of one muon.
 *
 * @param depthPx    depth of the layer in pixels, the unit of dx and dy
 * @param straightE  most probable electrons of a muon that crosses the layer at right angles
 */
export function drawTrack(
  track: { dx: number; dy: number; electrons: number },
  depthPx: number,
  straightE: number,
  random: RandomStream,
): void {
  // Density 4 cos^3 in the cosine of the zenith angle.
  const cosine = Math.max(smallestCosine, Math.sqrt(Math.sqrt(random.uniform())));
  const z = random.normal();
  track.electrons = (straightE / cosine) * (1 - straggling * log(z * z));
  // A direction without sine and cosine: a random point of the unit disc, moved to its rim.
  let u = 0;
  let v = 0;
  let square = 0;
  do {
    u = 2 * random.uniform() - 1;
    v = 2 * random.uniform() - 1;
    square = u * u + v * v;
  } while (square > 1 || square === 0);
  const run = (depthPx * Math.sqrt(1 - cosine * cosine)) / cosine / Math.sqrt(square);
  track.dx = u * run;
  track.dy = v * run;
}

/**
 * Spread electrons evenly along the straight line from (x, y) to (x + dx, y + dy), pixel by pixel; what lies
 * outside the stamp is lost. Coordinates are 0 at the outer border of the first pixel.
 */
export function addTrack(
  charge: Float64Array,
  width: number,
  height: number,
  x: number,
  y: number,
  dx: number,
  dy: number,
  electrons: number,
): void {
  let column = Math.floor(x);
  let row = Math.floor(y);
  const stepX = dx > 0 ? 1 : -1;
  const stepY = dy > 0 ? 1 : -1;
  // Shares of the way between two borders, and at which the next border of a column and of a row is met.
  const perColumn = dx === 0 ? Infinity : 1 / Math.abs(dx);
  const perRow = dy === 0 ? Infinity : 1 / Math.abs(dy);
  let nextColumn = dx === 0 ? Infinity : (dx > 0 ? column + 1 - x : x - column) * perColumn;
  let nextRow = dy === 0 ? Infinity : (dy > 0 ? row + 1 - y : y - row) * perRow;
  for (let done = 0; done < 1; ) {
    const end = Math.min(nextColumn, nextRow, 1);
    if (column >= 0 && column < width && row >= 0 && row < height)
      charge[row * width + column] += electrons * (end - done);
    done = end;
    if (nextColumn <= nextRow) {
      column += stepX;
      nextColumn += perColumn;
    } else {
      row += stepY;
      nextRow += perRow;
    }
  }
}
