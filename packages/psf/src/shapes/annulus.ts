/** The ring of an out-of-focus star, integrated over the pixels: a uniform annulus blurred by a Gaussian. */
import { addBlurredDiscs, discEdges, discScratch } from '../image/blurred-disc.ts';
import { makeBlurredEdge } from '../image/blurred-edge.ts';
import { addCircleOverlap, overlapScratch } from '../image/circle-overlap.ts';
import { requireNames } from '../numerics/options.ts';
import { requireBelow, requireWithin } from '../numerics/require.ts';
import { gaussianFwhmPerSigma, uprightGaussian } from './gaussian.ts';
import type { ImageSize, ShapePlan } from './star-plan.ts';

/** The ring of an out-of-focus star: a uniform annulus blurred by a Gaussian. */
export interface AnnulusShape {
  readonly kind: 'annulus';
  /** Outer diameter of the geometric ring before blur, px, up to 1,000,000; 0 at focus. */
  readonly outerDiameterPx: number;
  /** Inner over outer diameter (the linear central obstruction), in [0, 1). */
  readonly obstructionRatio: number;
  /** FWHM of the Gaussian blur (seeing, guiding, optics), px, up to 10,000; 0 for none. */
  readonly blurFwhmPx: number;
}

/** A ring smaller than this, in rms widths of the blur, is drawn as a Gaussian of its second moment. */
const leastRadiusPerSigma = 0.01;
/** A ring larger than this, in rms widths of the blur, is drawn without the blur. */
const mostRadiusPerSigma = 1e5;
/** A ring without blur of a smaller radius, px, is a point. */
const leastRadiusPx = 1e-9;
/** Error allowed to each of the two discs in any pixel, as a fraction of the flux. */
const tolerance = 2e-9;

/**
 * A ring made ready for one stamp size.
 *
 *   I = (disc(R) - disc(obstructionRatio R)) / (pi R^2 (1 - obstructionRatio^2)),  R = outerDiameterPx / 2,
 *
 * convolved with a Gaussian of rms s = blurFwhmPx / (2 sqrt(2 ln 2)), both discs of surface brightness 1.
 * Every pixel is right within 1e-8 of the flux, up to an obstruction of 0.9999 (what the discs lose in each
 * other's difference grows as 1 / (1 - obstructionRatio)). There are three ways, which agree where they meet:
 *
 * - a sum over points of the edges of both discs, see blurred-disc.ts;
 * - R < s / 100: a Gaussian of the same second moment s^2 + R^2 (1 + obstructionRatio^2) / 4. This is within
 *   3e-10, so the ring goes over into the star in focus without a jump;
 * - s = 0 or R > 100,000 s: the exact area of overlap of pixel and ring. Leaving out the blur moves 0.26 (s /
 *   R)^(3/2) / (1 - obstructionRatio^2) of the flux, here at most 8e-9 / (1 - obstructionRatio^2), over a
 *   border of a pixel that the outer circle just touches (derived, confirmed numerically), and much less
 *   elsewhere.
 *
 * A ring without blur and without size is a point: all its light is in the pixel that holds it, or shared
 * equally by the pixels on whose border it lies.
 *
 * @throws RangeError or TypeError naming `outerDiameterPx`, `obstructionRatio` or `blurFwhmPx`
 */
export function prepareAnnulus(shape: AnnulusShape, size: ImageSize): ShapePlan {
  const names = 'kind outerDiameterPx obstructionRatio blurFwhmPx';
  const { outerDiameterPx, obstructionRatio, blurFwhmPx } = requireNames('shape', shape, names);
  requireWithin('outerDiameterPx', outerDiameterPx, 0, 1_000_000);
  requireBelow('obstructionRatio', obstructionRatio, 0, 1);
  requireWithin('blurFwhmPx', blurFwhmPx, 0, 10_000);
  const radius = outerDiameterPx / 2;
  const sigma = blurFwhmPx / gaussianFwhmPerSigma;
  if (radius < leastRadiusPerSigma * sigma || radius < leastRadiusPx) {
    const spread = (radius / 2) * Math.sqrt(1 + obstructionRatio * obstructionRatio);
    const rms = Math.sqrt(sigma * sigma + spread * spread);
    return uprightGaussian(rms, rms, size);
  }
  const area = Math.PI * radius * radius * (1 - obstructionRatio * obstructionRatio);
  return radius > mostRadiusPerSigma * sigma
    ? sharpRing(radius, obstructionRatio * radius, area, size)
    : blurredRing(radius, obstructionRatio * radius, area, sigma, size);
}

function blurredRing(
  outerRadius: number,
  innerRadius: number,
  area: number,
  sigma: number,
  { width, height }: ImageSize,
): ShapePlan {
  const discs = [{ radiusPx: outerRadius, brightness: 1 / area }];
  if (innerRadius > 0) discs.push({ radiusPx: innerRadius, brightness: -1 / area });
  const edges = discEdges(discs, sigma, tolerance);
  const edge = makeBlurredEdge(sigma);
  const scratch = discScratch(width, height);
  return {
    renderInto(out, x, y, flux) {
      out.fill(0);
      addBlurredDiscs(out, width, height, x, y, flux, edge, edges, scratch);
      removeNegative(out);
    },
  };
}

function sharpRing(
  outerRadius: number,
  innerRadius: number,
  area: number,
  { width, height }: ImageSize,
): ShapePlan {
  const scratch = overlapScratch(width);
  return {
    renderInto(out, x, y, flux) {
      out.fill(0);
      addCircleOverlap(out, width, height, x, y, outerRadius, flux / area, scratch);
      if (innerRadius > 0) addCircleOverlap(out, width, height, x, y, innerRadius, -flux / area, scratch);
      removeNegative(out);
    },
  };
}

/** Light is never negative, but the difference of two discs may be, by its rounding or its allowed error. */
function removeNegative(out: Float64Array): void {
  for (let k = 0; k < out.length; k++) if (out[k] < 0) out[k] = 0;
}
