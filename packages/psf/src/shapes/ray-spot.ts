/**
 * A star by its rays: the slopes of any wavefront over any pupil, blurred by a Gaussian. Geometric optics, no
 * diffraction.
 */
import { pointsForBlur } from '../image/blur-quadrature.ts';
import {
  fineForNoise,
  finest,
  prepareSmoothSpots,
  type SmoothSpots,
  type SpotDiagram,
  smoothSpots,
  spotBlurSigma,
} from '../image/spot-diagram.ts';
import { writePhasor } from '../numerics/angle.ts';
import { requireNames } from '../numerics/options.ts';
import { gaussLegendre, type Quadrature } from '../numerics/quadrature.ts';
import { requireNonNegative, requirePositive } from '../numerics/require.ts';
import { requireFNumber } from '../optics/optics.ts';
import { type Pupil, pupilIntensity } from '../waves/pupil.ts';
import { type PupilRows, pupilRows } from '../waves/pupil-rows.ts';
import { type Wavefront, wavefrontSurface } from '../waves/wavefront.ts';
import type { ImageSize, ShapePlan } from './star-plan.ts';

/**
 * A star by geometric optics. The position of a render is the center of the sphere that the wavefront is
 * measured against, as for a diffraction image: where the chief ray of a wave that is flat in the middle
 * lands, not the center of mass. `lightCentroid` tells that.
 */
export interface RayShape {
  readonly kind: 'rays';
  /** The pupil that the rays pass. */
  readonly pupil: Pupil;
  /** The wave in the pupil; OPD > 0 is retarded. */
  readonly wavefront: Wavefront;
  /** Focal length over aperture, > 0.5. */
  readonly fNumber: number;
  /** Side of a pixel, um, > 0. */
  readonly pixelSizeUm: number;
  /** FWHM of the Gaussian blur (seeing, guiding, diffraction), px; below 0.25 px it is drawn as 0.25 px. */
  readonly blurFwhmPx: number;
  /**
   * 'exact': each pixel is right within 1e-9 of the flux. 'noisy': within 3e-5, several times as fast, for
   * images that noise is added to. Default 'exact'.
   */
  readonly fineness?: 'exact' | 'noisy';
}

/**
 * Most light that quadrature may put into a wrong pixel, as a fraction of the flux; once along rows, once
 * across them.
 */
const tolerances = { exact: 1e-10, noisy: 1e-5 } as const;

/** More rays than this are surely a mistake: they take seconds. */
const mostRays = 4e6;

/**
 * A star by its rays made ready for one stamp size. The pupil point (xi, eta), in units of its radius, sends
 * its light to
 *
 *   x + 2 F dW/dxi,  y + 2 F dW/deta
 *
 * (W as a length, > 0 where the wave is late; Born & Wolf, Principles of Optics, 5.1, from memory). The pupil
 * is cut into bands in which its edges are smooth, and these into rows, with Gauss-Legendre points enough for
 * the blur: each pixel is right within 1e-9 of the flux. Flux is that of the light which the pupil lets pass.
 *
 * ```ts
 * const clipped = { obstructionRatio: 0.3, clip: { distance: 0.7 } }
 * const wavefront = { focusShiftUm: 300, seidelNm: { coma: 400, astigmatism: -150, angleDeg: 30 } }
 * renderStar(
 *   { kind: 'rays', pupil: clipped, wavefront, fNumber: 5, pixelSizeUm: 3.75, blurFwhmPx: 2.5 },
 *   { width: 48, height: 48, x: 23, y: 24, flux: 5000 },
 * )
 * ```
 * @throws RangeError or TypeError naming the field that is out of range; RangeError when the pupil passes no
 *         light or the rays spread over some thousand widths of the blur
 */
export function prepareRays(shape: RayShape, size: ImageSize): ShapePlan {
  const smooth =
    smoothed.get(shape) ??
    smoothSpots(raySpots(shape), shape.blurFwhmPx, shape.fineness === 'noisy' ? fineForNoise : finest);
  smoothed.set(shape, smooth);
  return prepareSmoothSpots(smooth, size);
}

/**
 * Shapes are never changed, so one that is asked for again, for another stamp, has its rays traced and
 * blurred already.
 */
const smoothed = new WeakMap<RayShape, SmoothSpots>();

/** Where the light of one pupil point lands, px: written to spot[0], spot[1]. */
type Trace = (xi: number, eta: number, spot: Float64Array) => void;

/**
 * The spot diagram of a star: where its rays land and which share of the light each carries, as many of them
 * as a Gaussian blur needs to be drawn right within 2e-10 of the flux.
 *
 * @throws as `prepareRays`
 */
export function raySpots(options: Omit<RayShape, 'kind'>): SpotDiagram {
  const {
    pupil,
    wavefront,
    fNumber,
    pixelSizeUm,
    blurFwhmPx,
    fineness = 'exact',
  } = requireNames('shape', options, 'kind pupil wavefront fNumber pixelSizeUm blurFwhmPx fineness');
  requireFNumber(fNumber);
  requireNonNegative('blurFwhmPx', blurFwhmPx);
  requirePositive('pixelSizeUm', pixelSizeUm);
  const rows = pupilRows(pupil);
  const surface = wavefrontSurface(wavefront, fNumber);
  const pxPerSlope = (2 * fNumber) / 1000 / pixelSizeUm;
  const point = { value: 0, slopeX: 0, slopeY: 0 };
  const trace: Trace = (xi, eta, spot) => {
    surface.evaluate(xi, eta, point);
    spot[0] = pxPerSlope * point.slopeX;
    spot[1] = pxPerSlope * point.slopeY;
  };
  return collectRays(
    rows,
    pupilIntensity(pupil),
    trace,
    Math.max(2, surface.order),
    spotBlurSigma(blurFwhmPx),
    tolerances[fineness],
  );
}

function collectRays(
  { breaks, stretches, cut }: PupilRows,
  intensity: (x: number, y: number) => number,
  trace: Trace,
  order: number,
  sigma: number,
  tolerance: number,
): SpotDiagram {
  const x: number[] = [];
  const y: number[] = [];
  const weights: number[] = [];
  const spot = new Float64Array(2);
  const turn = new Float64Array(2);
  let light = 0;
  for (let band = 0; band + 1 < breaks.length; band++) {
    const middle = (breaks[band] + breaks[band + 1]) / 2;
    const half = (breaks[band + 1] - breaks[band]) / 2;
    // eta = middle + half sin(t) takes away the square root with which an arc begins; u = t / (pi / 2).
    const etaAt = (u: number): number => {
      writePhasor(turn, 0, u / 4);
      return middle + half * turn[1];
    };
    const lines = rowsOfBand(cut, stretches, etaAt, trace, sigma, tolerance);
    for (let line = 0; line < lines.nodes.length; line++) {
      const eta = etaAt(lines.nodes[line]);
      const thickness = lines.weights[line] * (Math.PI / 2) * half * turn[0];
      const count = cut(eta);
      for (let k = 0; k < count; k++) {
        const center = (stretches[2 * k] + stretches[2 * k + 1]) / 2;
        const reach = (stretches[2 * k + 1] - stretches[2 * k]) / 2;
        // Slopes are polynomials of degree order - 1 along a row; the intensity adds at most two degrees: a
        // point more.
        const moved = imaginaryReach((u) => trace(center + reach * u, eta, spot), spot, order, sigma);
        const points = rule(1 + pointsForBlur(moved, tolerance));
        if (weights.length + points.nodes.length > mostRays)
          throw new RangeError(
            `wavefront must spread the light over fewer widths of the blur: more than ${mostRays} rays are needed`,
          );
        for (let p = 0; p < points.nodes.length; p++) {
          const xi = center + reach * points.nodes[p];
          const weight = thickness * reach * points.weights[p] * intensity(xi, eta);
          trace(xi, eta, spot);
          x.push(spot[0]);
          y.push(spot[1]);
          weights.push(weight);
          light += weight;
        }
      }
    }
  }
  if (!(light > 0)) throw new RangeError('pupil must pass light, got none');
  return {
    x: Float64Array.from(x),
    y: Float64Array.from(y),
    weights: Float64Array.from(weights, (weight) => weight / light),
  };
}

/**
 * Rows enough for a band: counted along both ends and the middle of each stretch, as these move from row to
 * row.
 */
function rowsOfBand(
  cut: PupilRows['cut'],
  stretches: Float64Array,
  etaAt: (u: number) => number,
  trace: Trace,
  sigma: number,
  tolerance: number,
): Quadrature {
  const spot = new Float64Array(2);
  const count = cut(etaAt(0));
  let most = 0;
  for (let k = 0; k < count; k++)
    for (let place = 0; place <= 1; place += 0.5) {
      const along = (u: number): void => {
        const eta = etaAt(u);
        cut(eta);
        trace(stretches[2 * k] + place * (stretches[2 * k + 1] - stretches[2 * k]), eta, spot);
      };
      most = Math.max(most, pointsForBlur(imaginaryReach(along, spot, 32, sigma), tolerance));
    }
  // The length of a row and its brightness are no polynomials: a few rows for them.
  return count === 0 ? rule(1) : rule(most + (tolerance < 1e-8 ? 12 : 6));
}

/**
 * How far a spot moves into the imaginary on the ellipse of `pointsForBlur`, in widths of the blur: with
 * Chebyshev coefficients a[k] of its path, at most sum |a[k]| (g^k - g^-k) / 2.
 *
 * @param trace  writes to `spot` where the light lands for u in [-1, 1]
 * @param count  how many coefficients to take; exact for paths of a lower degree
 */
function imaginaryReach(
  trace: (u: number) => void,
  spot: Float64Array,
  count: number,
  sigma: number,
): (g: number) => number {
  const x = new Float64Array(count);
  const y = new Float64Array(count);
  const wave = new Float64Array(2);
  for (let j = 0; j < count; j++) {
    writePhasor(wave, 0, (j + 0.5) / (2 * count));
    const u = wave[0];
    trace(u);
    // Chebyshev polynomials of u: T[k + 1] = 2 u T[k] - T[k - 1]
    let before = 1;
    let value = u;
    for (let k = 1; k < count; k++) {
      x[k] += (2 / count) * spot[0] * value;
      y[k] += (2 / count) * spot[1] * value;
      const after = 2 * u * value - before;
      before = value;
      value = after;
    }
  }
  const sizes = x.map((value, k) => Math.sqrt(value * value + y[k] * y[k]) / sigma);
  return (g) => {
    let sum = 0;
    let power = 1;
    for (let k = 1; k < count; k++) {
      power *= g;
      if (sizes[k] > 0) sum += (sizes[k] * (power - 1 / power)) / 2;
    }
    return sum;
  };
}

/** A rule of at least n points, out of not too many that must be made. */
function rule(n: number): Quadrature {
  const step = n <= 32 ? 2 : n <= 128 ? 8 : 32;
  const points = step * Math.ceil(n / step);
  if (points > 4096)
    throw new RangeError(
      'wavefront must spread the light over fewer widths of the blur: more than 4096 rays in a row',
    );
  return gaussLegendre(points);
}
