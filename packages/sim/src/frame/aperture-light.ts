/** Flux, peak, half-flux diameter and second moments of the light in an aperture, each with its error. */
import type { Estimate } from '../statistics.ts';

export interface ApertureLight {
  /** Electrons above the background. */
  readonly fluxE: Estimate;
  /** Highest pixel above the background, electrons. */
  readonly peakE: number;
  /** Diameter of the circle about the position that holds half of the flux, px: the FWHM of a Gaussian. */
  readonly halfFluxDiameterPx: Estimate;
  /** Mean square distances from the position, px^2; of a Gaussian its rms widths squared. */
  readonly secondMomentsPx2: { readonly xx: Estimate; readonly xy: Estimate; readonly yy: Estimate };
}

export interface Aperture {
  readonly width: number;
  readonly height: number;
  readonly pixels: Float64Array;
  readonly valid: Uint8Array;
  readonly x: number;
  readonly y: number;
  readonly radiusPx: number;
  readonly backgroundE: number;
  readonly backgroundSigmaE: number;
  /** Variance of a pixel beside its own electrons: read noise squared and what was subtracted. */
  readonly fixedVariance: number;
}

/**
 * Sums over the pixels whose centres lie in the aperture. Errors to first order from photon and read noise and from the
 * background's own error, which all pixels share. Undefined when there is no light in sum.
 */
export function measureAperture(aperture: Aperture): ApertureLight | undefined {
  const { backgroundSigmaE } = aperture;
  const inside = pixelsInside(aperture);
  let flux = 0;
  let variance = 0;
  let peakE = Number.NEGATIVE_INFINITY;
  for (const { light, noise } of inside) {
    flux += light;
    variance += noise;
    peakE = Math.max(peakE, light);
  }
  if (!(flux > 0)) return undefined;
  const fluxSigma = Math.sqrt(variance + (inside.length * backgroundSigmaE) ** 2);
  const moment = (of: (pixel: Pixel) => number): Estimate => {
    let sum = 0;
    for (const pixel of inside) sum += pixel.light * of(pixel);
    const mean = sum / flux;
    let [own, shared] = [0, 0];
    for (const pixel of inside) {
      const pull = (of(pixel) - mean) / flux;
      own += pixel.noise * pull * pull;
      shared += pull;
    }
    return { value: mean, standardError: Math.sqrt(own + (shared * backgroundSigmaE) ** 2) };
  };
  return {
    fluxE: { value: flux, standardError: fluxSigma },
    peakE,
    halfFluxDiameterPx: halfFluxDiameter(inside, flux, fluxSigma),
    secondMomentsPx2: {
      xx: moment(({ dx }) => dx * dx),
      xy: moment(({ dx, dy }) => dx * dy),
      yy: moment(({ dy }) => dy * dy),
    },
  };
}

interface Pixel {
  readonly dx: number;
  readonly dy: number;
  readonly light: number;
  readonly noise: number;
}

function pixelsInside(aperture: Aperture): Pixel[] {
  const { width, height, pixels, valid, x: x0, y: y0, radiusPx, backgroundE, fixedVariance } = aperture;
  const inside: Pixel[] = [];
  for (let y = 0, k = 0; y < height; y++)
    for (let x = 0; x < width; x++, k++) {
      const dx = x - x0;
      const dy = y - y0;
      if (!valid[k] || dx * dx + dy * dy > radiusPx * radiusPx) continue;
      inside.push({ dx, dy, light: pixels[k] - backgroundE, noise: fixedVariance + Math.max(0, pixels[k]) });
    }
  return inside;
}

/** Parts that each pixel is cut into along each side, so that the light grows smoothly with the radius. */
const parts = 5;

/**
 * The curve of growth's half. Its error: half of the flux inside, half outside, so a relative error of the flux moves the
 * balance by half of it, over the light per radius where the half is reached.
 */
function halfFluxDiameter(inside: readonly Pixel[], flux: number, fluxSigma: number): Estimate {
  const cuts: { radius: number; light: number }[] = [];
  for (const { dx, dy, light } of inside)
    for (let p = 0; p < parts * parts; p++) {
      const u = dx + ((p % parts) + 0.5) / parts - 0.5;
      const v = dy + (Math.floor(p / parts) + 0.5) / parts - 0.5;
      cuts.push({ radius: Math.sqrt(u * u + v * v), light: light / (parts * parts) });
    }
  cuts.sort((a, b) => a.radius - b.radius);
  let sum = 0;
  let k = 0;
  while (k < cuts.length - 1 && sum + cuts[k]!.light < flux / 2) sum += cuts[k++]!.light;
  const radius = cuts[k]!.radius;
  // light between 0.8 and 1.2 of the radius gives the slope of the curve of growth
  let near = 0;
  for (const cut of cuts) if (Math.abs(cut.radius - radius) < 0.2 * radius) near += cut.light;
  const perRadius = Math.max(near / (0.4 * radius), flux / (20 * radius));
  return { value: 2 * radius, standardError: fluxSigma / perRadius };
}
