/** Averages over the light of a pupil: how much passes, where its middle lies, how far it spreads. */
import { writePhasor } from '../numerics/angle.ts';
import { gaussLegendre } from '../numerics/quadrature.ts';
import { type Pupil, pupilIntensity } from './pupil.ts';
import { pupilRows } from './pupil-rows.ts';

/** Points of the pupil with the light that each stands for. */
export interface PupilNodes {
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Area times intensity; they sum to the light that passes, pi for a clear pupil. */
  readonly weights: Float64Array;
}

/** Lines in each smooth band of the pupil. */
const linesPerBand = 32;

/**
 * Points and weights for integrals over the light of a pupil.
 *
 *   integral of f(x, y) * intensity = sum over k of weights[k] * f(x[k], y[k])
 *
 * Along x the rule is exact for polynomials up to `degree`. Along y the pupil is split into bands in which
 * its edges are smooth, and in each y = middle + half * sin(t) takes away the square root with which an arc
 * begins, so that 32 Gauss-Legendre lines leave some 1e-14 (for degrees up to 30).
 *
 * @throws RangeError when the pupil passes no light, RangeError or TypeError naming the field that is out of
 *   range
 */
export function pupilNodes(pupil: Pupil, degree: number): PupilNodes {
  const rows = pupilRows(pupil);
  const intensity = pupilIntensity(pupil);
  const lines = gaussLegendre(Math.max(linesPerBand, degree));
  // The intensity adds two degrees of its own.
  const points = gaussLegendre(Math.ceil((degree + 3) / 2));
  const xs: number[] = [];
  const ys: number[] = [];
  const weights: number[] = [];
  const turn = new Float64Array(2);
  for (let band = 0; band + 1 < rows.breaks.length; band++) {
    const middle = (rows.breaks[band] + rows.breaks[band + 1]) / 2;
    const half = (rows.breaks[band + 1] - rows.breaks[band]) / 2;
    for (let line = 0; line < lines.nodes.length; line++) {
      writePhasor(turn, 0, lines.nodes[line] / 4);
      const y = middle + half * turn[1];
      const height = lines.weights[line] * (Math.PI / 2) * half * turn[0];
      const count = rows.cut(y);
      for (let k = 0; k < count; k++) {
        const center = (rows.stretches[2 * k] + rows.stretches[2 * k + 1]) / 2;
        const reach = (rows.stretches[2 * k + 1] - rows.stretches[2 * k]) / 2;
        for (let p = 0; p < points.nodes.length; p++) {
          const x = center + reach * points.nodes[p];
          xs.push(x);
          ys.push(y);
          weights.push(height * reach * points.weights[p] * intensity(x, y));
        }
      }
    }
  }
  if (!weights.some((weight) => weight > 0)) throw new RangeError('pupil must pass light, got none');
  return { x: Float64Array.from(xs), y: Float64Array.from(ys), weights: Float64Array.from(weights) };
}

/** Means over the light in the pupil, in radii of the aperture. */
export interface PupilMoments {
  /** Light that passes over that of a clear pupil of intensity 1. */
  readonly transmitted: number;
  /** Center of mass of the light, in aperture radii. */
  readonly x: number;
  /** The same along y. */
  readonly y: number;
  /** Mean square distances from that center, in squared aperture radii. */
  readonly xx: number;
  /** Mean product of both distances, in squared aperture radii. */
  readonly xy: number;
  /** As `xx`, along y. */
  readonly yy: number;
}

/**
 * How much light a pupil passes, its center of mass and its second moments, to some 1e-13.
 *
 * A star that is out of focus by dz walks by -(dz / 2 F) times the center and spreads by (dz / 2 F)^2 times
 * the second moments: `lightCentroid` gives the walk for any wavefront.
 *
 * ```ts
 * pupilMoments({ obstructionRatio: 0.3, clip: { distance: 0.5 } }) // x: -0.1929, the light that is left
 * ```
 * @throws RangeError when the pupil passes no light, RangeError or TypeError naming the field that is out of
 *   range
 */
export function pupilMoments(pupil: Pupil): PupilMoments {
  const nodes = pupilNodes(pupil, 2);
  let light = 0;
  let x = 0;
  let y = 0;
  for (let k = 0; k < nodes.weights.length; k++) {
    light += nodes.weights[k];
    x += nodes.weights[k] * nodes.x[k];
    y += nodes.weights[k] * nodes.y[k];
  }
  x /= light;
  y /= light;
  let xx = 0;
  let xy = 0;
  let yy = 0;
  for (let k = 0; k < nodes.weights.length; k++) {
    const dx = nodes.x[k] - x;
    const dy = nodes.y[k] - y;
    xx += nodes.weights[k] * dx * dx;
    xy += nodes.weights[k] * dx * dy;
    yy += nodes.weights[k] * dy * dy;
  }
  return { transmitted: light / Math.PI, x, y, xx: xx / light, xy: xy / light, yy: yy / light };
}
