/**
 * The mean light of a frame's stars by distance from their middle, and how well a light agrees with it: the
 * matched filter, the best test for a light of known shape in even noise (North 1943, Proc. IEEE 51, 1016 of
 * 1963, from memory).
 */
import { discLight, type LightExtent } from '@holdfast/centroid/internal';
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
  pixels: Float32Array,
  width: number,
  height: number,
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

/** Places tried about the middle, in each direction, and their distance as a share of the star's reach. */
const placesTried = [-2, -1, 0, 1, 2];
const stepShare = 0.08;

/**
 * Light of the frame's shape about a place, over its noise, at the best of 25 places. The noise is that of a
 * pixel, or what is left of the light when the shape is taken off, if that is more.
 *
 * @param scale  the shape is made so many times as large
 */
export function matchedSignificance(
  pixels: Float32Array,
  width: number,
  height: number,
  extent: LightExtent,
  profile: StarProfile,
  sigma: number,
  scale = 1,
): number {
  const reach = scale * profile.reachPx;
  const binsPerDistance = binsPerPx / scale;
  const step = Math.max(0.5, stepShare * reach);
  let best = 0;
  for (const down of placesTried)
    for (const across of placesTried) {
      const x = extent.x + across * step;
      const y = extent.y + down * step;
      let [light, shape, square] = [0, 0, 0];
      const { count, r, value } = discLight(pixels, width, height, extent, x, y, reach);
      for (let k = 0; k < count; k++) {
        const at = Math.floor(r[k] * binsPerDistance);
        const share = r[k] * binsPerDistance - at;
        const here = profile.values[at];
        const next = at + 1 < profile.values.length ? profile.values[at + 1] : here;
        const p = here + share * (next - here);
        light += p * value[k];
        shape += p * p;
        square += value[k] * value[k];
      }
      if (!(shape > 0) || count < 4) continue;
      const left = Math.sqrt(Math.max(0, square - (light * light) / shape) / (count - 1));
      best = Math.max(best, light / (Math.sqrt(shape) * Math.max(sigma, left)));
    }
  return best;
}
