/** What follows from the unknowns of a fit, with the error that follows from theirs. */
import { exp } from '@holdfast/psf/numerics';
import type { Estimate } from '../../trials/statistics.ts';
import { ring } from './ring-model.ts';

/**
 * f(unknowns) and its 1 sigma error: the largest that any of the covariances gives.
 *
 * @param sizes  unknowns for which f asks that they are not below 0
 */
export function derivedEstimate(
  unknowns: Float64Array,
  covariances: readonly Float64Array[],
  f: (unknowns: Float64Array) => number,
  sizes: readonly number[] = [],
): Estimate {
  let standardError = 0;
  for (const covariance of covariances)
    standardError = Math.max(standardError, errorOf(unknowns, covariance, f, sizes));
  return { value: f(unknowns), standardError };
}

/**
 * sqrt(d . C . d) by secants: d_i is the slope of f over one sigma of unknown i either way. That is the
 * gradient where f is straight, and it stays finite where f is not (the ratio of a hole that may be none).
 */
function errorOf(
  unknowns: Float64Array,
  covariance: Float64Array,
  f: (unknowns: Float64Array) => number,
  sizes: readonly number[],
): number {
  const n = unknowns.length;
  const slope = new Float64Array(n);
  const moved = unknowns.slice();
  for (let i = 0; i < n; i++) {
    const sigma = Math.sqrt(covariance[i * (n + 1)]);
    if (!(sigma > 0)) continue;
    const low = sizes.includes(i) ? Math.max(0, unknowns[i] - sigma) : unknowns[i] - sigma;
    moved[i] = low;
    const below = f(moved);
    moved[i] = unknowns[i] + sigma;
    slope[i] = (f(moved) - below) / (moved[i] - low);
    moved[i] = unknowns[i];
  }
  let variance = 0;
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++) variance += slope[i] * covariance[i * n + j] * slope[j];
  return Math.sqrt(Math.max(0, variance));
}

/**
 * Electrons of the ring. With t the cone's tangent, a disc of q times the outer radius R holds
 *   pi (q R)^2 / (1 + t^2 q^2),
 * and the slope adds to or takes from an off-center hole.
 */
export function ringFlux(u: Float64Array, coneTangent: number): number {
  const radius = u[ring.radius];
  const hole = u[ring.hole];
  const t2 = coneTangent * coneTangent;
  const tilt = (u[ring.slopeX] * u[ring.holeX] + u[ring.slopeY] * u[ring.holeY]) / radius;
  const lit = 1 / (1 + t2) - (hole * (1 + tilt)) / (1 + t2 * hole);
  return Math.PI * u[ring.level] * radius * radius * lit;
}

/**
 * Center of mass of the ring's light along one axis, px: that of the outer disc less that of the hole. A
 * slope g over a disc of radius q with a blur of rms s moves its center by g (q^2 / 4 + s^2) / R. The
 * thinning of a fast cone is left out: it changes the shift by its own small share.
 */
export function ringLightCenter(u: Float64Array, axis: 'x' | 'y'): number {
  const [place, hole, slope] =
    axis === 'x' ? [ring.x, ring.holeX, ring.slopeX] : [ring.y, ring.holeY, ring.slopeY];
  const radius = u[ring.radius];
  const e2 = u[ring.hole];
  const spread = (u[ring.blur] * u[ring.blur]) / (8 * Math.LN2);
  const share = 1 + (u[ring.slopeX] * u[ring.holeX] + u[ring.slopeY] * u[ring.holeY]) / radius;
  const outer = (u[slope] * ((radius * radius) / 4 + spread)) / radius;
  const inner = u[hole] * share + (u[slope] * ((e2 * radius * radius) / 4 + spread)) / radius;
  return u[place] + (outer - e2 * inner) / (1 - e2 * share);
}

/** Of a hole that shows. */
export const leastDip = 0.25;

/**
 * Light that the hole takes from its own middle once blurred: 1 - exp(-r^2 / 2 s^2) for a radius r and an rms
 * s.
 */
export function dipOfHole(u: Float64Array): number {
  const inner2 = u[ring.radius] * u[ring.radius] * u[ring.hole];
  const variance = (u[ring.blur] * u[ring.blur]) / (8 * Math.LN2);
  return 1 - exp(-inner2 / (2 * variance));
}
