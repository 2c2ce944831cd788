/**
 * Single pixels, and two side by side, that stand up alone, as no star does that a telescope has drawn: told
 * apart and filled from around.
 */

/**
 * A hot pixel stands this many sigmas above its surroundings; below, it does not matter to a box of 3 x 3.
 */
const leastHeightSigma = 10;

/**
 * The mean of its four side neighbors has less than this share of its height. A star of FWHM 1 px, centered,
 * has 0.16.
 */
const neighborShare = 0.125;

/**
 * Replace hot pixels by the median of their neighbors, in place. Non-finite pixels are no neighbors.
 */
export function fillHotPixels(pixels: Float32Array, width: number, height: number, sigma: number): void {
  const least = leastHeightSigma * sigma;
  const end = width * height;
  for (let k = 0; k < end; ) {
    const next = k - (k % width) + width;
    fillIfHot(pixels, width, height, k++, least);
    k = nextRise(pixels, k, next, 0.5 * least);
  }
}

/**
 * The first pixel from k on, up to `end`, that is not within `rise` above the one before it; without a usable
 * neighbor on the left it is not, either. Most pixels are: four are looked at per step.
 */
function nextRise(pixels: Float32Array, k: number, end: number, rise: number): number {
  let before = pixels[k - 1];
  for (; k + 3 < end; k += 4) {
    const a = pixels[k];
    const b = pixels[k + 1];
    const c = pixels[k + 2];
    const d = pixels[k + 3];
    if (!(a - before <= rise && b - a <= rise && c - b <= rise && d - c <= rise)) break;
    before = d;
  }
  while (k < end && pixels[k] - pixels[k - 1] <= rise) k++;
  return k;
}

const around = new Float64Array(8);

function fillIfHot(pixels: Float32Array, width: number, height: number, k: number, least: number): void {
  const v = pixels[k];
  if (!Number.isFinite(v)) return;
  const y = Math.floor(k / width);
  const x = k - y * width;
  let count = 0;
  let sides = 0;
  let sideSum = 0;
  for (let dy = -1; dy <= 1; dy++)
    for (let dx = -1; dx <= 1; dx++) {
      if ((dx === 0 && dy === 0) || x + dx < 0 || x + dx >= width || y + dy < 0 || y + dy >= height) continue;
      const n = pixels[k + dy * width + dx];
      if (!Number.isFinite(n)) continue;
      if (dx === 0 || dy === 0) {
        sides++;
        sideSum += n;
      }
      // sorted as they come: there are eight at most
      let i = count++;
      for (; i > 0 && around[i - 1] > n; i--) around[i] = around[i - 1];
      around[i] = n;
    }
  if (count < 3 || sides < 2) return;
  const level = around[count >> 1];
  const heightAbove = v - level;
  if (!(heightAbove > least)) return;
  if (sideSum / sides - level < neighborShare * heightAbove) pixels[k] = level;
  else fillIfHotPair(pixels, width, height, k, level);
}

/**
 * The same for two pixels side by side: each of those beside them and at their ends differs from the level by
 * less than the share of their height. A star of FWHM 1 px in the middle between two pixels has 0.16 beside
 * them, a bad column all of it at their ends.
 */
function fillIfHotPair(pixels: Float32Array, width: number, height: number, k: number, level: number): void {
  const y = Math.floor(k / width);
  const x = k - y * width;
  const at = (i: number, j: number): number =>
    i < 0 || i >= width || j < 0 || j >= height ? Number.NaN : pixels[j * width + i] - level;
  // of the two this one comes first: pixels are looked at row by row
  const right = at(x + 1, y);
  const below = at(x, y + 1);
  const [dx, dy] = right > below || Number.isNaN(below) ? [1, 0] : [0, 1];
  const most = neighborShare * 0.5 * (at(x, y) + at(x + dx, y + dy));
  // within a star some neighbors are far below the others
  const isDark = (...values: readonly number[]): boolean => {
    const usable = values.filter(Number.isFinite);
    return usable.length > 0 && usable.every((value) => Math.abs(value) < most);
  };
  const beside = [
    at(x - dy, y - dx),
    at(x + dy, y + dx),
    at(x + dx - dy, y + dy - dx),
    at(x + dx + dy, y + dy + dx),
  ];
  if (!isDark(...beside) || !isDark(at(x - dx, y - dy), at(x + 2 * dx, y + 2 * dy))) return;
  pixels[k] = level;
  pixels[k + dx + dy * width] = level;
}
