/** The Gaussian star, integrated over the pixels: circular, or elliptical at any angle. */

import { exp, log } from '../numerics/exp-log.ts';
import { cumulativeGaussian, gaussianPixels, gaussianReach } from '../numerics/normal-distribution.ts';
import { requireNames } from '../numerics/options.ts';
import { gaussLegendre, type Quadrature } from '../numerics/quadrature.ts';
import { requireAboveZero } from '../numerics/require.ts';
import { type Ellipse, type Elliptical, ellipseOf } from './ellipse.ts';
import type { ImageSize, ShapePlan } from './star-plan.ts';

/** A Gaussian star, circular or elliptical. */
export interface GaussianShape extends Elliptical {
  readonly kind: 'gaussian';
  /** Full width at half maximum, px, > 0; along the long axis when elliptical. */
  readonly fwhmPx: number;
}

/** FWHM of a Gaussian over its rms width: 2 sqrt(2 ln 2). */
export const gaussianFwhmPerSigma = 2 * Math.sqrt(2 * Math.LN2);

/** Narrower than this (px) is the same star: only overflow is kept away. */
const leastSigma = 1e-150;

/**
 * A Gaussian star made ready for one stamp size.
 *
 *   I(x, y) = exp(-Q / 2) / (2 pi sigmaLong sigmaShort),  Q = (u / sigmaLong)^2 + (v / sigmaShort)^2
 *
 * with u, v along the long and short axis and sigma = FWHM / (2 sqrt(2 ln 2)). The integral over a pixel is
 * exact to rounding (1e-15 of the flux) when the axes lie along the pixels, else within 1e-10 of the flux.
 *
 * @throws RangeError or TypeError naming `fwhmPx`, `axisRatio` or `angleDeg`
 */
export function prepareGaussian(shape: GaussianShape, size: ImageSize): ShapePlan {
  requireNames('shape', shape, 'kind fwhmPx axisRatio angleDeg');
  requireAboveZero('fwhmPx', shape.fwhmPx);
  const ellipse = ellipseOf(shape, Math.max(leastSigma, shape.fwhmPx / gaussianFwhmPerSigma));
  return ellipse.skew === 0
    ? uprightGaussian(ellipse.acrossX, ellipse.alongY, size)
    : tiltedGaussian(ellipse, size);
}

/**
 * A Gaussian of rms widths `sigmaX`, `sigmaY` (px, >= 0) along the pixels: the product of two lines of erf
 * differences. With both 0 all light is in the pixel that holds the star, and a star on a border is shared by
 * its neighbors.
 */
export function uprightGaussian(sigmaX: number, sigmaY: number, { width, height }: ImageSize): ShapePlan {
  const columns = new Float64Array(width);
  const rows = new Float64Array(height);
  return {
    renderInto(out, x, y, flux) {
      gaussianPixels(columns, x, Math.max(leastSigma, sigmaX));
      gaussianPixels(rows, y, Math.max(leastSigma, sigmaY));
      for (let j = 0, k = 0; j < height; j++) {
        const inRow = flux * rows[j];
        for (let i = 0; i < width; i++, k++) out[k] = inRow * columns[i];
      }
    },
  };
}

/**
 * Axes at an angle to the pixels: erf differences in x for each of some y in every row, summed by
 * Gauss-Legendre.
 */
function tiltedGaussian(ellipse: Ellipse, { width, height }: ImageSize): ShapePlan {
  const { acrossX: sigmaRow, alongY: sigmaY, skew } = ellipse;
  const panelPx = 2 * ellipse.acrossY;
  const rule = ruleForPanel(Math.min(0.5, ellipse.acrossY) / ellipse.acrossY);
  const { nodes, weights } = rule;
  const reachY = gaussianReach * sigmaY;
  const reachRow = gaussianReach * sigmaRow + 0.5;
  const peak = 1 / (Math.sqrt(2 * Math.PI) * sigmaY);
  return {
    renderInto(out, x, y, flux) {
      out.fill(0);
      for (let j = 0; j < height; j++) {
        // The part of this row that the star reaches, cut into panels not wider than the star along y.
        const low = Math.max(j - 0.5 - y, -reachY);
        const high = Math.min(j + 0.5 - y, reachY);
        if (!(low < high)) continue;
        const panels = Math.ceil((high - low) / panelPx);
        const half = (high - low) / (2 * panels);
        for (let p = 0; p < panels; p++) {
          const middle = low + (2 * p + 1) * half;
          for (let n = 0; n < nodes.length; n++) {
            const dy = middle + half * nodes[n];
            const weight = flux * weights[n] * half * peak * exp((-0.5 * dy * dy) / (sigmaY * sigmaY));
            const center = x + skew * dy;
            const from = Math.max(0, Math.ceil(center - reachRow));
            const to = Math.min(width, Math.floor(center + reachRow) + 1);
            if (from >= to) continue;
            let below = cumulativeGaussian((from - 0.5 - center) / sigmaRow);
            for (let i = from, k = j * width + from; i < to; i++, k++) {
              const above = cumulativeGaussian((i + 0.5 - center) / sigmaRow);
              if (above > below) out[k] += weight * (above - below);
              below = above;
            }
          }
        }
      }
    },
  };
}

/**
 * The smallest rule that integrates a panel of half-width h within 1e-11 of the flux, given h over the rms
 * width tau of the star along y. At y + i eta the integrand grows by at most exp(eta^2 / 2 tau^2), so on the
 * ellipse whose imaginary half axis is eta = tau sqrt(2 n) the classical bound (64/15) M rho^-2n / (1 -
 * rho^-2) applies (Trefethen, SIAM Review 50, 67, 2008, theorem 4.5) with M = exp(n) times the greatest value
 * on the panel, which is below h / tau of the flux.
 */
function ruleForPanel(halfWidthPerSigma: number): Quadrature {
  for (let n = 2; ; n++) {
    const eta = Math.sqrt(2 * n) / halfWidthPerSigma;
    const rho = eta + Math.sqrt(eta * eta + 1);
    const bound = (64 / 15) * halfWidthPerSigma * exp(n - 2 * n * log(rho));
    if (bound < 1e-11 || n === 16) return gaussLegendre(n);
  }
}
