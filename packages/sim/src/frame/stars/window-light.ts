/**
 * Flux, peak, half-light diameter, second and third moments of the light in a window, each with its error.
 */
import type { Estimate } from '../../trials/statistics.ts';

/** The light of a star within a window. */
export interface WindowLight {
  /** Electrons above the background. */
  readonly fluxE: Estimate;
  /** Highest pixel above the background, electrons. */
  readonly peakE: number;
  /** Diameter of the circle about the position that holds half of the flux, px: the FWHM of a Gaussian. */
  readonly halfFluxDiameterPx: Estimate;
  /** Mean square distances from the position, px^2; of a Gaussian its rms widths squared. */
  readonly secondMomentsPx2: { readonly xx: Estimate; readonly xy: Estimate; readonly yy: Estimate };
  /**
   * About the light's own center of mass in the window, px^3: 0 for a symmetric star, whatever its blur.
   */
  readonly thirdMomentsPx3: ThirdMoments;
}

/** Third moments of the light about its center, px^3. */
export interface ThirdMoments {
  /** Of x^3. */
  readonly xxx: Estimate;
  /** Of x^2 y. */
  readonly xxy: Estimate;
  /** Of x y^2. */
  readonly xyy: Estimate;
  /** Of y^3. */
  readonly yyy: Estimate;
  /** xxx + xyy and xxy + yyy, the vector <r^2 r>, with errors of their own: the terms share their noise. */
  readonly sumX: Estimate;
  /** The same along y. */
  readonly sumY: Estimate;
}

export interface RoundWindow {
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
  /**
   * Unevenness of the light: its rms as a share of the light, and the L of its correlation exp(-d^2 / 2 L^2),
   * px. It adds to the errors of the third moments. Default none.
   */
  readonly uneven?: { readonly share: number; readonly lengthPx: number };
}

/**
 * Sums over the pixels whose centers lie in the window. Errors to first order from photon and read noise
 * and from the background's own error, which all pixels share. Undefined when there is no light in sum.
 */
export function measureWindow(window: RoundWindow): WindowLight | undefined {
  const { backgroundSigmaE } = window;
  const inside = pixelsInside(window);
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
  const meanOf = (of: (pixel: Pixel) => number): number => {
    let sum = 0;
    for (const pixel of inside) sum += pixel.light * of(pixel);
    return sum / flux;
  };
  /** @param patch  variance for each electron squared: uneven light */
  const moment = (of: (pixel: Pixel) => number, patch = 0): Estimate => {
    const mean = meanOf(of);
    let [own, shared] = [0, 0];
    for (const pixel of inside) {
      const pull = (of(pixel) - mean) / flux;
      own += (pixel.noise + patch * pixel.light * pixel.light) * pull * pull;
      shared += pull;
    }
    return { value: mean, standardError: Math.sqrt(own + (shared * backgroundSigmaE) ** 2) };
  };
  return {
    fluxE: { value: flux, standardError: fluxSigma },
    peakE,
    halfFluxDiameterPx: halfFluxDiameter(inside, window.radiusPx, flux, fluxSigma),
    secondMomentsPx2: {
      xx: moment(({ dx }) => dx * dx),
      xy: moment(({ dx, dy }) => dx * dy),
      yy: moment(({ dy }) => dy * dy),
    },
    thirdMomentsPx3: thirdMoments(meanOf, moment, window.uneven),
  };
}

/**
 * mu_abc = <u_a u_b u_c> with u from the light's own center. Its influence function u_a u_b u_c - mu_ab u_c -
 * mu_bc u_a - mu_ca u_b has the same mean, and counts that the center itself follows the noise.
 */
function thirdMoments(
  meanOf: (of: (pixel: Pixel) => number) => number,
  moment: (of: (pixel: Pixel) => number, patch: number) => Estimate,
  uneven: RoundWindow['uneven'],
): ThirdMoments {
  const patch =
    uneven === undefined ? 0 : uneven.share ** 2 * Math.max(1, 2 * Math.PI * uneven.lengthPx ** 2);
  const x = meanOf(({ dx }) => dx);
  const y = meanOf(({ dy }) => dy);
  const xx = meanOf(({ dx }) => (dx - x) ** 2);
  const xy = meanOf(({ dx, dy }) => (dx - x) * (dy - y));
  const yy = meanOf(({ dy }) => (dy - y) ** 2);
  const by = (influence: (u: number, v: number) => number): Estimate =>
    moment(({ dx, dy }) => influence(dx - x, dy - y), patch);
  const xxx = (u: number) => u ** 3 - 3 * xx * u;
  const xxy = (u: number, v: number) => u * u * v - 2 * xy * u - xx * v;
  const xyy = (u: number, v: number) => u * v * v - 2 * xy * v - yy * u;
  const yyy = (_: number, v: number) => v ** 3 - 3 * yy * v;
  return {
    xxx: by(xxx),
    xxy: by(xxy),
    xyy: by(xyy),
    yyy: by(yyy),
    sumX: by((u, v) => xxx(u) + xyy(u, v)),
    sumY: by((u, v) => xxy(u, v) + yyy(u, v)),
  };
}

interface Pixel {
  readonly dx: number;
  readonly dy: number;
  readonly light: number;
  readonly noise: number;
  /** First and second difference of the light along x and y. */
  readonly slopeX: number;
  readonly slopeY: number;
  readonly bendX: number;
  readonly bendY: number;
}

function pixelsInside(window: RoundWindow): Pixel[] {
  const { width, height, pixels, valid, x: x0, y: y0, radiusPx, backgroundE, fixedVariance } = window;
  const inside: Pixel[] = [];
  for (let y = 0, k = 0; y < height; y++)
    for (let x = 0; x < width; x++, k++) {
      const dx = x - x0;
      const dy = y - y0;
      if (!valid[k] || dx * dx + dy * dy > radiusPx * radiusPx) continue;
      const [west, east] = [x > 0 && valid[k - 1] ? k - 1 : k, x < width - 1 && valid[k + 1] ? k + 1 : k];
      const north = y > 0 && valid[k - width] ? k - width : k;
      const south = y < height - 1 && valid[k + width] ? k + width : k;
      inside.push({
        dx,
        dy,
        light: pixels[k] - backgroundE,
        noise: fixedVariance + Math.max(0, pixels[k]),
        slopeX: (pixels[east] - pixels[west]) / 2,
        slopeY: (pixels[south] - pixels[north]) / 2,
        bendX: pixels[east] - 2 * pixels[k] + pixels[west],
        bendY: pixels[south] - 2 * pixels[k] + pixels[north],
      });
    }
  return inside;
}

/**
 * Parts that each pixel is cut into along each side, so that the light grows smoothly with the radius. Within
 * the pixel the light follows its neighbors by a parabola that keeps the pixel's sum: spread evenly it would
 * widen a small star.
 */
const parts = 5;
/** The circle's edge is this soft, px: parts come and go by and by. */
const edge = 0.3;

/**
 * The curve of growth's half. Its error: half of the flux inside, half outside, so a relative error of the
 * flux moves the balance by half of it, over the light per radius where the half is reached.
 */
function halfFluxDiameter(
  inside: readonly Pixel[],
  radiusPx: number,
  flux: number,
  fluxSigma: number,
): Estimate {
  const within = growthCurve(inside);
  let low = 0;
  let high = radiusPx + edge;
  for (let step = 0; step < 40; step++) {
    const middle = (low + high) / 2;
    if (within(middle) < flux / 2) low = middle;
    else high = middle;
  }
  const radius = (low + high) / 2;
  const reach = Math.max(0.25 * radius, edge);
  // never below a twentieth of a star of even light: noise may flatten the curve
  const perRadius = Math.max(
    (within(radius + reach) - within(radius - reach)) / (2 * reach),
    flux / (20 * radius),
  );
  return { value: 2 * radius, standardError: fluxSigma / perRadius };
}

/** Light within a radius about the middle, each pixel cut into parts. */
function growthCurve(inside: readonly Pixel[]): (radius: number) => number {
  const count = inside.length * parts * parts;
  const radii = new Float64Array(count);
  const lights = new Float64Array(count);
  const evenSquare = (1 - 1 / (parts * parts)) / 12;
  let n = 0;
  let farthest = 0;
  for (const { dx, dy, light, slopeX, slopeY, bendX, bendY } of inside)
    for (let p = 0; p < parts * parts; p++, n++) {
      const u = ((p % parts) + 0.5) / parts - 0.5;
      const v = (Math.floor(p / parts) + 0.5) / parts - 0.5;
      const bend = (bendX * (u * u - evenSquare) + bendY * (v * v - evenSquare)) / 2;
      radii[n] = Math.sqrt((dx + u) ** 2 + (dy + v) ** 2);
      lights[n] = (light + slopeX * u + slopeY * v + bend) / (parts * parts);
      farthest = Math.max(farthest, radii[n]);
    }
  // by bins of the radius, so that only those at the circle's edge are looked at one by one
  const bins = Math.floor(farthest / edge) + 2;
  const starts = new Int32Array(bins + 1);
  for (let k = 0; k < count; k++) starts[Math.floor(radii[k] / edge) + 1]++;
  for (let bin = 0; bin < bins; bin++) starts[bin + 1] += starts[bin];
  const next = starts.slice();
  const order = new Int32Array(count);
  for (let k = 0; k < count; k++) order[next[Math.floor(radii[k] / edge)]++] = k;
  const below = new Float64Array(bins + 1);
  for (let bin = 0; bin < bins; bin++) {
    below[bin + 1] = below[bin];
    for (let at = starts[bin]; at < starts[bin + 1]; at++) below[bin + 1] += lights[order[at]];
  }
  return (radius) => {
    const first = Math.max(0, Math.min(bins, Math.floor((radius - edge / 2) / edge)));
    const last = Math.max(first, Math.min(bins, Math.floor((radius + edge / 2) / edge) + 1));
    let sum = below[first];
    for (let at = starts[first]; at < starts[last]; at++) {
      const k = order[at];
      sum += lights[k] * Math.min(1, Math.max(0, (radius - radii[k]) / edge + 0.5));
    }
    return sum;
  };
}
