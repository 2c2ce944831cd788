/**
 * What tells a star from a galaxy, a trail or a spot of dirt beside its size: how round its light is and how
 * it rises to the middle.
 */
import { discLight, type LightExtent } from '@holdfast/centroid/internal';

export interface LightShape {
  /** Rms width across over that along. */
  readonly axisRatio: number;
  /** Difference of the two mean squares over its noise. */
  readonly elongationSigmas: number;
  /**
   * Half-light over nine-tenths radius: 0.55 for a Gaussian, 0.75 to 0.85 for a ring, 0.43 for an exponential
   * disk.
   */
  readonly concentration: number;
}

/** Second moments of the light within 1.2 light radii of its center. */
export function measureShape(
  pixels: Float32Array,
  width: number,
  height: number,
  extent: LightExtent,
  sigma: number,
): LightShape {
  const { x, y, lightRadius, halfRadius } = extent;
  let [flux, xx, yy, xy, noise] = [0, 0, 0, 0, 0];
  const disc = discLight(pixels, width, height, extent, x, y, 1.2 * lightRadius + 1);
  for (let k = 0; k < disc.count; k++) {
    const value = disc.value[k];
    const dx = disc.dx[k];
    const dy = disc.dy[k];
    flux += value;
    xx += value * dx * dx;
    yy += value * dy * dy;
    xy += value * dx * dy;
    noise += (dx * dx - dy * dy) ** 2 * (sigma * sigma + Math.max(0, value));
  }
  const half = Math.sqrt(((xx - yy) / 2) ** 2 + xy * xy);
  const mean = (xx + yy) / 2;
  const ratio2 = mean > 0 ? Math.max(0, (mean - half) / (mean + half)) : 1;
  return {
    axisRatio: flux > 0 ? Math.sqrt(ratio2) : 1,
    elongationSigmas: noise > 0 ? (2 * half) / Math.sqrt(noise) : 0,
    concentration: halfRadius / Math.max(lightRadius, 1e-9),
  };
}
