/** A first guess of a ring by its light alone: center, background, and the best of a few dozen rings. */
import { kthSmallest, median } from '@holdfast/psf/numerics';
import type { PictureModel } from './picture-model.ts';
import { ring, ringUnknowns } from './ring-model.ts';

/** Pixels of a stamp and which of them may be used (1) or not (0). */
export interface StampPixels {
  readonly width: number;
  readonly height: number;
  readonly pixels: Float64Array;
  readonly use: Uint8Array;
}

/** Rings tried, as outer radius over the half-light radius, and blur FWHM over the outer radius. */
const radiusTried = [0.9, 1.1, 1.3, 1.5];
const blurTried = [0.2, 0.5, 1];
const obstructionTried = [0.15, 0.45];

/**
 * Unknowns to start a ring fit from, or undefined when the pixels hold no light above their own background.
 *
 * @param guess  where the star is thought to be; default the center of mass of what stands out
 */
export function startRing(
  stamp: StampPixels,
  model: PictureModel,
  guess: { readonly x: number; readonly y: number } | undefined,
  obstructionRatio: number | undefined,
): Float64Array | undefined {
  const background = edgeLevel(stamp);
  const light = lightOf(stamp, background, guess);
  if (light === undefined) return undefined;
  const values = new Float64Array(stamp.pixels.length);
  const best = new Float64Array(ringUnknowns);
  const tried = new Float64Array(ringUnknowns);
  tried[ring.x] = light.x;
  tried[ring.y] = light.y;
  let least = Infinity;
  for (const obstruction of obstructionRatio === undefined ? obstructionTried : [obstructionRatio])
    for (const radius of radiusTried)
      for (const blur of blurTried) {
        tried[ring.radius] = Math.max(0.5, radius * light.halfFluxRadius);
        tried[ring.hole] = obstruction * obstruction;
        tried[ring.blur] = Math.max(0.5, blur * tried[ring.radius]);
        tried[ring.level] = 1;
        tried[ring.background] = 0;
        model.valuesInto(values, tried);
        const sum = fitLevels(stamp, values, tried);
        if (tried[ring.level] > 0 && sum < least) {
          least = sum;
          best.set(tried);
        }
      }
  return least < Infinity ? best : undefined;
}

/** Median of the pixels used along the border of what is used: the four sides, two pixels deep. */
function edgeLevel({ width, height, pixels, use }: StampPixels): number {
  let [left, right, top, bottom] = [width, 0, height, 0];
  for (let y = 0, k = 0; y < height; y++)
    for (let x = 0; x < width; x++, k++)
      if (use[k]) {
        left = Math.min(left, x);
        right = Math.max(right, x);
        top = Math.min(top, y);
        bottom = Math.max(bottom, y);
      }
  const depth = 2;
  // of a round region only the pixels near its rim, of a rectangle its border
  const middleX = (left + right) / 2;
  const middleY = (top + bottom) / 2;
  const halfX = (right - left) / 2;
  const halfY = (bottom - top) / 2;
  const found: number[] = [];
  for (let y = 0, k = 0; y < height; y++)
    for (let x = 0; x < width; x++, k++) {
      if (!use[k]) continue;
      const dx = Math.abs(x - middleX);
      const dy = Math.abs(y - middleY);
      const onBorder = dx > halfX - depth || dy > halfY - depth;
      const nearRim = (dx / (halfX + 1)) ** 2 + (dy / (halfY + 1)) ** 2 > 0.85;
      if (onBorder || nearRim) found.push(pixels[k]);
    }
  return median(found);
}

/**
 * Center of mass and half-light radius of a 3 x 3 mean of the light that stands above a quarter of the
 * brightest.
 */
function lightOf(
  { width, height, pixels, use }: StampPixels,
  background: number,
  guess: { readonly x: number; readonly y: number } | undefined,
): { x: number; y: number; halfFluxRadius: number } | undefined {
  const smooth = new Float64Array(pixels.length);
  for (let y = 0, k = 0; y < height; y++)
    for (let x = 0; x < width; x++, k++) {
      let sum = 0;
      let count = 0;
      for (let v = Math.max(0, y - 1); v <= Math.min(height - 1, y + 1); v++)
        for (let w = Math.max(0, x - 1); w <= Math.min(width - 1, x + 1); w++)
          if (use[v * width + w]) {
            sum += pixels[v * width + w] - background;
            count++;
          }
      smooth[k] = use[k] && count > 0 ? sum / count : 0;
    }
  // a cosmic ray is a few pixels: the level that one in two hundred of the used ones reaches is the star's
  const used = smooth.filter((_, k) => use[k] === 1);
  const top = kthSmallest(used, Math.floor(0.995 * (used.length - 1)));
  if (!(top > 0)) return undefined;
  let [flux, sumX, sumY] = [0, 0, 0];
  for (let y = 0, k = 0; y < height; y++)
    for (let x = 0; x < width; x++, k++)
      if (smooth[k] > top / 4) {
        flux += smooth[k];
        sumX += smooth[k] * x;
        sumY += smooth[k] * y;
      }
  const x0 = guess?.x ?? sumX / flux;
  const y0 = guess?.y ?? sumY / flux;
  const byRadius: { r: number; light: number }[] = [];
  for (let y = 0, k = 0; y < height; y++)
    for (let x = 0; x < width; x++, k++)
      if (smooth[k] > top / 4)
        byRadius.push({ r: Math.sqrt((x - x0) ** 2 + (y - y0) ** 2), light: smooth[k] });
  byRadius.sort((a, b) => a.r - b.r);
  let inside = 0;
  for (const { r, light } of byRadius) {
    inside += light;
    if (inside >= flux / 2) return { x: x0, y: y0, halfFluxRadius: Math.max(0.5, r) };
  }
  return undefined;
}

/** Least squares for level and background of a picture of level 1; returns the sum of squares left. */
function fitLevels({ pixels, use }: StampPixels, picture: Float64Array, unknowns: Float64Array): number {
  let [n, sumP, sumD, sumPP, sumPD, sumDD] = [0, 0, 0, 0, 0, 0];
  for (let k = 0; k < pixels.length; k++) {
    if (!use[k]) continue;
    const p = picture[k];
    const d = pixels[k];
    n++;
    sumP += p;
    sumD += d;
    sumPP += p * p;
    sumPD += p * d;
    sumDD += d * d;
  }
  const spread = n * sumPP - sumP * sumP;
  const level = spread > 0 ? (n * sumPD - sumP * sumD) / spread : 0;
  const background = (sumD - level * sumP) / n;
  unknowns[ring.level] = level;
  unknowns[ring.background] = background;
  return (
    sumDD -
    2 * (level * sumPD + background * sumD) +
    level * level * sumPP +
    2 * level * background * sumP +
    n * background * background
  );
}
