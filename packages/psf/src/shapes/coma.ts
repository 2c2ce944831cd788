/**
 * The comet of an off-axis star: third-order coma by geometric optics, with defocus if wanted, blurred by a
 * Gaussian.
 */

import { pointsForBlur } from '../image/blur-quadrature.ts';
import {
  leastSpotBlurFwhmPx,
  prepareSpotDiagram,
  type SpotDiagram,
  spotBlurSigma,
} from '../image/spot-diagram.ts';
import { unitVector, writePhasor } from '../numerics/angle.ts';
import { exp, log } from '../numerics/exp-log.ts';
import { requireNames } from '../numerics/options.ts';
import { gaussLegendre, type Quadrature } from '../numerics/quadrature.ts';
import { requireBelow, requireFinite, requireNonNegative, requireWithin } from '../numerics/require.ts';
import type { ImageSize, ShapePlan } from './star-plan.ts';

/**
 * The comet of an off-axis star. The position of a render is its center of mass, see `comaCentroidOffset`.
 */
export interface ComaShape {
  readonly kind: 'coma';
  /** Sagittal coma Cs, px, >= 0, at most 64 times the blur: the comet is 3 Cs long and 2 Cs wide. */
  readonly sagittalComaPx: number;
  /** Direction from the bright point of the comet to its tail, degrees from +x toward +y. */
  readonly angleDeg: number;
  /** Inner over outer diameter of the pupil (the linear central obstruction), in [0, 1). */
  readonly obstructionRatio: number;
  /** FWHM of the Gaussian blur (seeing, guiding, optics), px; below 0.25 px it is drawn as 0.25 px. */
  readonly blurFwhmPx: number;
  /**
   * Outer diameter of the ring that defocus alone would make, px, at most 256 times the blur. Default 0. Its
   * sign would make no difference: a comet before focus is the same as behind it.
   */
  readonly defocusDiameterPx?: number;
}

/**
 * Most light that quadrature may put into a wrong pixel, as a fraction of the flux; once for zones, once for
 * angles.
 */
const tolerance = 1e-10;

/**
 * A comet made ready for one stamp size.
 *
 * The point (rho, phi) of the pupil, obstructionRatio <= rho <= 1 of the radius, sends its light to
 *
 *   along the tail  Cs rho^2 (2 + cos 2 phi) + (defocusDiameter / 2) rho cos phi
 *   across it       Cs rho^2 sin 2 phi       + (defocusDiameter / 2) rho sin phi
 *
 * from where the chief ray lands: without defocus a zone rho makes a circle of radius Cs rho^2 whose center
 * lies 2 Cs rho^2 down the tail, and all of them fit in a wedge of half-angle 30 degrees (derived from W =
 * W131 rho^3 cos phi; Born & Wolf, Principles of Optics, 5.3, from memory). Gauss-Legendre zones and equal
 * angles are so many that each pixel is right within 1e-9 of the flux, from no coma at all, where the comet
 * is a Gaussian, to the largest.
 *
 * @throws RangeError or TypeError naming `sagittalComaPx`, `angleDeg`, `obstructionRatio`, `blurFwhmPx` or
 *         `defocusDiameterPx`
 */
export function prepareComa(shape: ComaShape, size: ImageSize): ShapePlan {
  const { blurFwhmPx, defocusDiameterPx = 0 } = requireNames('shape', shape, comaNames);
  requireComet(shape);
  requireNonNegative('blurFwhmPx', blurFwhmPx);
  const blur = Math.max(leastSpotBlurFwhmPx, blurFwhmPx);
  requireWithin('sagittalComaPx', shape.sagittalComaPx, 0, 64 * blur);
  requireWithin('defocusDiameterPx', defocusDiameterPx, 0, 256 * blur);
  return prepareSpotDiagram(cometSpots(shape, spotBlurSigma(blurFwhmPx)), blurFwhmPx, size);
}

const comaNames = 'kind sagittalComaPx angleDeg obstructionRatio blurFwhmPx defocusDiameterPx';

/**
 * The center of mass of a comet less the point where the chief ray lands, px: Cs (1 + obstructionRatio^2)
 * down the tail (derived; the mean slope of the wavefront over the pupil). Defocus does not change it. To
 * draw a comet whose chief ray lands at (x, y), ask for the position (x + offset.x, y + offset.y).
 *
 * ```ts
 * comaCentroidOffset({ sagittalComaPx: 4, angleDeg: 0, obstructionRatio: 0.5 }) // { x: 5, y: 0 }
 * ```
 * @throws RangeError or TypeError naming `sagittalComaPx`, `angleDeg` or `obstructionRatio`
 */
export function comaCentroidOffset(
  comet: Pick<ComaShape, 'sagittalComaPx' | 'angleDeg' | 'obstructionRatio'>,
): { readonly x: number; readonly y: number } {
  requireComet(requireNames('comet', comet, comaNames));
  const { sagittalComaPx, angleDeg, obstructionRatio } = comet;
  const tail = unitVector(angleDeg);
  const along = sagittalComaPx * (1 + obstructionRatio * obstructionRatio);
  return { x: along * tail.x, y: along * tail.y };
}

function requireComet({
  sagittalComaPx,
  angleDeg,
  obstructionRatio,
}: Pick<ComaShape, 'sagittalComaPx' | 'angleDeg' | 'obstructionRatio'>): void {
  requireNonNegative('sagittalComaPx', sagittalComaPx);
  requireFinite('angleDeg', angleDeg);
  requireBelow('obstructionRatio', obstructionRatio, 0, 1);
}

/** Rays of a comet, relative to its center of mass. */
function cometSpots(shape: ComaShape, sigma: number): SpotDiagram {
  const { sagittalComaPx: coma, angleDeg, obstructionRatio, defocusDiameterPx = 0 } = shape;
  const defocus = defocusDiameterPx / 2;
  const tail = unitVector(angleDeg);
  const half = (1 - obstructionRatio) / 2;
  const middle = (1 + obstructionRatio) / 2;
  const { nodes, weights } = zones(coma / sigma, defocus / sigma, middle, half);
  // Without defocus phi and phi + 180 degrees send their light to the same place: half a turn is enough.
  const turn = defocus === 0 ? 2 : 1;
  const anglesOf = Array.from(nodes, (node) => {
    const rho = middle + half * node;
    return angles((coma * rho * rho) / sigma, (defocus * rho) / sigma) / turn;
  });
  const count = anglesOf.reduce((sum, n) => sum + n, 0);
  const spots = { x: new Float64Array(count), y: new Float64Array(count), weights: new Float64Array(count) };
  const centroid = coma * (1 + obstructionRatio * obstructionRatio);
  const single = new Float64Array(2);
  const double = new Float64Array(2);
  for (let zone = 0, n = 0; zone < nodes.length; zone++) {
    const rho = middle + half * nodes[zone];
    const zoneComa = coma * rho * rho;
    const zoneDefocus = defocus * rho;
    const share = (weights[zone] * rho) / (2 * middle * anglesOf[zone]);
    for (let k = 0; k < anglesOf[zone]; k++, n++) {
      const phi = (k + 0.5) / (turn * anglesOf[zone]);
      writePhasor(single, 0, phi);
      writePhasor(double, 0, 2 * phi);
      const along = zoneComa * (2 + double[0]) + zoneDefocus * single[0] - centroid;
      const across = zoneComa * double[1] + zoneDefocus * single[1];
      spots.x[n] = tail.x * along - tail.y * across;
      spots.y[n] = tail.y * along + tail.x * across;
      spots.weights[n] = share;
    }
  }
  return spots;
}

/**
 * How many equal angles, a multiple of 2, are enough for a zone whose coma and defocus are so many rms widths
 * of the blur.
 *
 * The light in a pixel is an entire function of phi. At phi + i eta the spot moves by at most d = coma sinh(2
 * eta) + defocus sinh(eta) into the imaginary and a Gaussian grows by at most exp(d^2 / 2), so N angles leave
 * at most 2 exp(d^2 / 2 - N eta) for every eta > 0 (Trefethen & Weideman, SIAM Review 56, 385, 2014, theorem
 * 3.2).
 */
function angles(coma: number, defocus: number): number {
  let least = Infinity;
  for (let eta = 1 / 1024; eta < 16; eta *= 1.25) {
    const grow = exp(eta);
    const sinh = (grow - 1 / grow) / 2;
    const d = (grow + 1 / grow) * sinh * coma + sinh * defocus;
    least = Math.min(least, (log(2 / tolerance) + (d * d) / 2) / eta);
  }
  return 2 * Math.ceil(least / 2);
}

/**
 * Enough Gauss-Legendre zones: where rho = middle + half u has become complex, a spot has moved by at most
 * |Im f(rho)|.
 */
function zones(coma: number, defocus: number, middle: number, half: number): Quadrature {
  const movedBy = (g: number): number => {
    const along = middle + (half * (g + 1 / g)) / 2;
    const aside = (half * (g - 1 / g)) / 2;
    // |(2 + cos 2 phi, sin 2 phi)| <= 3 and |Im rho^2| = 2 |Re rho Im rho|
    return 6 * coma * along * aside + defocus * aside;
  };
  // Light goes with rho, which grows by up to g on that ellipse: one point more.
  return gaussLegendre(1 + pointsForBlur(movedBy, tolerance));
}
