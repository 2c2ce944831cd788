/**
 * The mean light of a frame's stars by distance from their middle, and how well a light agrees with it: the
 * matched filter, the best test for a light of known shape in even noise (North 1943, Proc. IEEE 51, 1016 of
 * 1963, from memory).
 */
import { discLight, type FrameLight, type LightExtent } from '@holdfast/centroid/internal';
import { exp } from '@holdfast/psf/numerics';

/** Share of the flux per pixel against radius. */
export interface StarProfile {
  /** At every half pixel from 0 on. */
  readonly values: Float64Array;
  readonly reachPx: number;
}

const binsPerPx = 2;

/** Sums of a star's light by radius, added to `sums` and `counts`, as shares of its flux. */
export function addProfile(
  sums: Float64Array,
  counts: Float64Array,
  { pixels, width, height }: FrameLight,
  extent: LightExtent,
): void {
  const reach = (sums.length - 1) / binsPerPx;
  const { count, r, value } = discLight(pixels, width, height, extent, extent.x, extent.y, reach);
  for (let k = 0; k < count; k++) {
    const at = Math.floor(r[k] * binsPerPx);
    const share = r[k] * binsPerPx - at;
    sums[at] += ((1 - share) * value[k]) / extent.flux;
    counts[at] += 1 - share;
    // Beyond its end an array takes nothing.
    sums[at + 1] += (share * value[k]) / extent.flux;
    counts[at + 1] += share;
  }
}

/** Places for sums out to `reachPx`. */
export const profileLength = (reachPx: number): number => Math.ceil(reachPx * binsPerPx) + 1;

export function profileOf(sums: Float64Array, counts: Float64Array): StarProfile {
  let last = 0;
  const values = sums.map((sum, at) => {
    if (counts[at] > 0) last = sum / counts[at];
    return last;
  });
  return { values, reachPx: (values.length - 1) / binsPerPx };
}

/**
 * What a galaxy of about the same reach looks like: an exponential disk (Freeman 1970, ApJ 160, 811, from
 * memory).
 */
export function exponentialProfile({ values, reachPx }: StarProfile): StarProfile {
  return { values: values.map((_, at) => exp(-at / (binsPerPx * 0.25 * reachPx))), reachPx };
}

/** The shape at a distance from its middle, px; 0 beyond its reach. */
export function profileAt({ values }: StarProfile, r: number): number {
  const place = r * binsPerPx;
  const at = Math.floor(place);
  return at + 1 < values.length ? values[at] + (place - at) * (values[at + 1] - values[at]) : 0;
}

/** The level about a star is taken from a disc of so many of its reaches. */
export const aroundShare = 1.5;
/** Places tried in each direction, and their distances in reaches of the star: roughly, then finely. */
const places = [-2, -1, 0, 1, 2];
const steps: readonly number[] = [0.2, 0.06];

/** Where light of the frame's shape stands out most, and how far over its noise. */
export interface Match {
  readonly x: number;
  readonly y: number;
  readonly significance: number;
}

/**
 * Light of the frame's shape at one place, fitted together with the level about it: by symmetry a slope does
 * not matter. The noise is that of a pixel, or what is left within the shape when both are taken off, if that
 * is more.
 *
 * @param scale  the shape is made so many times as large
 * @param mostSigmas  no pixel counts more than so many times its noise
 */
export function matchAt(
  { pixels, width, height, sigma }: FrameLight,
  x: number,
  y: number,
  { values, reachPx }: StarProfile,
  scale = 1,
  mostSigmas = Infinity,
): number {
  const most = mostSigmas * sigma;
  const reach = scale * reachPx * aroundShare;
  const perDistance = binsPerPx / scale;
  // beyond it there is no light of the shape, rounding allowed for
  const dark2 = (1 + 1e-9) * ((values.length - 1) / perDistance) ** 2;
  let [n, p1, p2, v1, pv, within, w1, w2] = [0, 0, 0, 0, 0, 0, 0, 0];
  // near an edge it is cut on the far side too: only what is symmetric is blind to a slope
  const reachX = Math.min(reach, x + 0.5, width - 0.5 - x);
  const reachY = Math.min(reach, y + 0.5, height - 0.5 - y);
  for (let j = Math.ceil(y - reachY); j <= y + reachY; j++) {
    // half the chord of the circle, but for a pixel at either end, where rounding decides
    const half = Math.min(reachX, Math.sqrt(Math.max(0, reach * reach - (j - y) * (j - y))) + 1);
    for (let i = Math.ceil(x - half); i <= x + half; i++) {
      const r2 = (i - x) * (i - x) + (j - y) * (j - y);
      const value = pixels[j * width + i];
      if (r2 > reach * reach || !Number.isFinite(value)) continue;
      const v = Math.min(most, value);
      n++;
      v1 += v;
      if (r2 > dark2) continue;
      const place = Math.sqrt(r2) * perDistance;
      const at = Math.floor(place);
      if (at + 1 >= values.length) continue;
      const p = values[at] + (place - at) * (values[at + 1] - values[at]);
      within++;
      p1 += p;
      p2 += p * p;
      pv += p * v;
      w1 += v;
      w2 += v * v;
    }
  }
  const shape = p2 - (p1 * p1) / n;
  if (!(shape > 1e-9 * p2) || within < 4) return 0;
  const light = pv - (p1 * v1) / n;
  const flux = light / shape;
  const level = (v1 - flux * p1) / n;
  const squares =
    w2 - 2 * (level * w1 + flux * pv) + within * level * level + flux * (2 * level * p1 + flux * p2);
  return light / (Math.sqrt(shape) * Math.max(sigma, Math.sqrt(Math.max(0, squares) / (within - 1))));
}

/**
 * The same without a level of its own: of a star it is as much, of a bright spot amid darkness (what dust
 * leaves between its shadow's edges, what a trail leaves beside it) much less.
 */
export function matchAboveBackground(
  { pixels, width, height, sigma }: FrameLight,
  { x, y }: { readonly x: number; readonly y: number },
  profile: StarProfile,
): number {
  let [light, shape] = [0, 0];
  const { count, r, value } = discLight(pixels, width, height, { x, y, ...noLevel }, x, y, profile.reachPx);
  for (let k = 0; k < count; k++) {
    const p = profileAt(profile, r[k]);
    light += p * value[k];
    shape += p * p;
  }
  return shape > 0 ? light / (sigma * Math.sqrt(shape)) : 0;
}

const noLevel = { level: 0, slopeX: 0, slopeY: 0 };

/** The best match about a place, to a tenth of the star's reach and better. */
export function bestMatch(
  frame: FrameLight,
  from: { readonly x: number; readonly y: number },
  profile: StarProfile,
): Match {
  let best: Match = { x: from.x, y: from.y, significance: -Infinity };
  for (const share of steps) {
    const { x, y } = best;
    const step = Math.max(0.4, share * profile.reachPx);
    for (const down of places)
      for (const across of places) {
        const [u, v] = [x + across * step, y + down * step];
        const significance = matchAt(frame, u, v, profile);
        if (significance > best.significance) best = { x: u, y: v, significance };
      }
  }
  return best;
}
