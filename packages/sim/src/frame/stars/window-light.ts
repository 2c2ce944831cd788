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
  const { count, dx, dy, light, noise } = inside;
  let flux = 0;
  let variance = 0;
  let peakE = Number.NEGATIVE_INFINITY;
  for (let k = 0; k < count; k++) {
    flux += light[k];
    variance += noise[k];
    peakE = Math.max(peakE, light[k]);
  }
  if (!(flux > 0)) return undefined;
  const fluxSigma = Math.sqrt(variance + (count * backgroundSigmaE) ** 2);
  const moments = new Moments(inside, flux, backgroundSigmaE);
  const second = (a: Float64Array, b: Float64Array): Estimate => {
    for (let k = 0; k < count; k++) moments.values[k] = a[k] * b[k];
    return moments.estimate();
  };
  return {
    fluxE: { value: flux, standardError: fluxSigma },
    peakE,
    halfFluxDiameterPx: halfFluxDiameter(inside, window.radiusPx, flux, fluxSigma),
    secondMomentsPx2: { xx: second(dx, dx), xy: second(dx, dy), yy: second(dy, dy) },
    thirdMomentsPx3: thirdMoments(inside, moments, window.uneven),
  };
}

/** Means by the light of what is written into `values`, pixel by pixel. */
class Moments {
  readonly values: Float64Array;
  readonly #inside: PixelsInside;
  readonly #flux: number;
  readonly #backgroundSigmaE: number;

  constructor(inside: PixelsInside, flux: number, backgroundSigmaE: number) {
    this.#inside = inside;
    this.#flux = flux;
    this.#backgroundSigmaE = backgroundSigmaE;
    this.values = new Float64Array(inside.count);
  }

  mean(): number {
    const { count, light } = this.#inside;
    let sum = 0;
    for (let k = 0; k < count; k++) sum += light[k] * this.values[k];
    return sum / this.#flux;
  }

  /** @param patch  variance for each electron squared: uneven light */
  estimate(patch = 0): Estimate {
    const { count, light, noise } = this.#inside;
    const mean = this.mean();
    let [own, shared] = [0, 0];
    for (let k = 0; k < count; k++) {
      const pull = (this.values[k] - mean) / this.#flux;
      own += (noise[k] + patch * light[k] * light[k]) * pull * pull;
      shared += pull;
    }
    return { value: mean, standardError: Math.sqrt(own + (shared * this.#backgroundSigmaE) ** 2) };
  }
}

/**
 * mu_abc = <u_a u_b u_c> with u from the light's own center. Its influence function u_a u_b u_c - mu_ab u_c -
 * mu_bc u_a - mu_ca u_b has the same mean, and counts that the center itself follows the noise.
 */
function thirdMoments(
  { count, dx, dy, light }: PixelsInside,
  moments: Moments,
  uneven: RoundWindow['uneven'],
): ThirdMoments {
  const patch =
    uneven === undefined ? 0 : uneven.share ** 2 * Math.max(1, 2 * Math.PI * uneven.lengthPx ** 2);
  let [flux, sumX, sumY] = [0, 0, 0];
  for (let k = 0; k < count; k++) {
    flux += light[k];
    sumX += light[k] * dx[k];
    sumY += light[k] * dy[k];
  }
  const [x, y] = [sumX / flux, sumY / flux];
  let [sumXX, sumXY, sumYY] = [0, 0, 0];
  for (let k = 0; k < count; k++) {
    const u = dx[k] - x;
    const v = dy[k] - y;
    sumXX += light[k] * (u * u);
    sumXY += light[k] * (u * v);
    sumYY += light[k] * (v * v);
  }
  const [xx, xy, yy] = [sumXX / flux, sumXY / flux, sumYY / flux];
  const by = (influence: (u: number, v: number) => number): Estimate => {
    for (let k = 0; k < count; k++) moments.values[k] = influence(dx[k] - x, dy[k] - y);
    return moments.estimate(patch);
  };
  const xxx = (u: number) => u * u * u - 3 * xx * u;
  const xxy = (u: number, v: number) => u * u * v - 2 * xy * u - xx * v;
  const xyy = (u: number, v: number) => u * v * v - 2 * xy * v - yy * u;
  const yyy = (_: number, v: number) => v * v * v - 3 * yy * v;
  return {
    xxx: by(xxx),
    xxy: by(xxy),
    xyy: by(xyy),
    yyy: by(yyy),
    sumX: by((u, v) => xxx(u) + xyy(u, v)),
    sumY: by((u, v) => xxy(u, v) + yyy(u, v)),
  };
}

/** The first `count` entries of each are the pixels. */
interface PixelsInside {
  readonly count: number;
  readonly dx: Float64Array;
  readonly dy: Float64Array;
  readonly light: Float64Array;
  readonly noise: Float64Array;
  /** First and second difference of the light along x and y. */
  readonly slopeX: Float64Array;
  readonly slopeY: Float64Array;
  readonly bendX: Float64Array;
  readonly bendY: Float64Array;
}

function pixelsInside(window: RoundWindow): PixelsInside {
  const { width, height, pixels, valid, x: x0, y: y0, radiusPx, backgroundE, fixedVariance } = window;
  const isInside = (x: number, y: number): boolean =>
    valid[y * width + x] !== 0 && (x - x0) ** 2 + (y - y0) ** 2 <= radiusPx * radiusPx;
  let most = 0;
  for (let y = 0; y < height; y++) for (let x = 0; x < width; x++) if (isInside(x, y)) most++;
  const column = (): Float64Array => new Float64Array(most);
  const inside = {
    ...{ dx: column(), dy: column(), light: column(), noise: column() },
    ...{ slopeX: column(), slopeY: column(), bendX: column(), bendY: column() },
  };
  for (let y = 0, k = 0, n = 0; y < height; y++)
    for (let x = 0; x < width; x++, k++) {
      if (!isInside(x, y)) continue;
      const west = x > 0 && valid[k - 1] ? k - 1 : k;
      const east = x < width - 1 && valid[k + 1] ? k + 1 : k;
      const north = y > 0 && valid[k - width] ? k - width : k;
      const south = y < height - 1 && valid[k + width] ? k + width : k;
      inside.dx[n] = x - x0;
      inside.dy[n] = y - y0;
      inside.light[n] = pixels[k] - backgroundE;
      inside.noise[n] = fixedVariance + Math.max(0, pixels[k]);
      inside.slopeX[n] = (pixels[east] - pixels[west]) / 2;
      inside.slopeY[n] = (pixels[south] - pixels[north]) / 2;
      inside.bendX[n] = pixels[east] - 2 * pixels[k] + pixels[west];
      inside.bendY[n] = pixels[south] - 2 * pixels[k] + pixels[north];
      n++;
    }
  return { count: most, ...inside };
}

/**
 * Parts that each pixel is cut into along each side, so that the light grows smoothly with the radius. Within
 * the pixel the light follows its neighbors by a parabola that keeps the pixel's sum: spread evenly it would
 * widen a small star.
 */
const parts = 5;
/** The circle's edge is this soft, px: parts come and go by and by. */
const edge = 0.3;
/** No part lies farther from its pixel's center than this, px. */
const halfDiagonal = Math.SQRT1_2;

/**
 * The curve of growth's half. Its error: half of the flux inside, half outside, so a relative error of the
 * flux moves the balance by half of it, over the light per radius where the half is reached.
 */
function halfFluxDiameter(inside: PixelsInside, radiusPx: number, flux: number, fluxSigma: number): Estimate {
  const radius = halfFluxRadius(inside, radiusPx, flux);
  const reach = Math.max(0.25 * radius, edge);
  const light = (at: number): number => growthCurve(inside, at, at)(at);
  // never below a twentieth of a star of even light: noise may flatten the curve
  const perRadius = Math.max(
    (light(radius + reach) - light(radius - reach)) / (2 * reach),
    flux / (20 * radius),
  );
  return { value: 2 * radius, standardError: fluxSigma / perRadius };
}

function halfFluxRadius(inside: PixelsInside, radiusPx: number, flux: number): number {
  let low = 0;
  let high = radiusPx + edge;
  // by whole pixels first: only those about the circle found are cut into parts
  const rough = roughHalfFluxRadius(inside, high, flux);
  const [near, far] = [Math.max(low, rough - roughError), Math.min(high, rough + roughError)];
  let within = growthCurve(inside, near, far);
  if (within(near) < flux / 2 && !(within(far) < flux / 2)) [low, high] = [near, far];
  else within = growthCurve(inside, low, high);
  for (let step = 0; step < 40; step++) {
    const middle = (low + high) / 2;
    if (within(middle) < flux / 2) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** Whole pixels tell the radius within this, px; where not, all are cut. */
const roughError = 1;

/** Least radius, by steps of half a pixel, within which the centers of pixels hold half of the flux. */
function roughHalfFluxRadius({ count, dx, dy, light }: PixelsInside, most: number, flux: number): number {
  const step = 0.5;
  const rings = new Float64Array(Math.ceil(most / step) + 2);
  for (let k = 0; k < count; k++)
    rings[Math.floor(Math.sqrt(dx[k] * dx[k] + dy[k] * dy[k]) / step)] += light[k];
  let sum = 0;
  for (let ring = 0; ring < rings.length; ring++) {
    sum += rings[ring];
    if (sum >= flux / 2) return (ring + 0.5) * step;
  }
  return most;
}

/**
 * Light within a radius about the middle, for radii from `low` to `high`: pixels that the edge of such a
 * circle may touch are cut into parts, those farther in count whole.
 */
function growthCurve(
  { count, dx, dy, light, slopeX, slopeY, bendX, bendY }: PixelsInside,
  low: number,
  high: number,
): (radius: number) => number {
  const cut: number[] = [];
  let whole = 0;
  const [least, most] = [low - edge / 2 - halfDiagonal, high + edge / 2 + halfDiagonal];
  for (let k = 0; k < count; k++) {
    const far2 = dx[k] * dx[k] + dy[k] * dy[k];
    if (far2 >= most * most) continue;
    if (least > 0 && far2 <= least * least) whole += light[k];
    else cut.push(k);
  }
  const radii = new Float64Array(cut.length * parts * parts);
  const lights = new Float64Array(radii.length);
  const evenSquare = (1 - 1 / (parts * parts)) / 12;
  let n = 0;
  let farthest = 0;
  for (const k of cut)
    for (let p = 0; p < parts * parts; p++, n++) {
      const u = ((p % parts) + 0.5) / parts - 0.5;
      const v = (Math.floor(p / parts) + 0.5) / parts - 0.5;
      const bend = (bendX[k] * (u * u - evenSquare) + bendY[k] * (v * v - evenSquare)) / 2;
      radii[n] = Math.sqrt((dx[k] + u) ** 2 + (dy[k] + v) ** 2);
      lights[n] = (light[k] + slopeX[k] * u + slopeY[k] * v + bend) / (parts * parts);
      farthest = Math.max(farthest, radii[n]);
    }
  // by bins of the radius, so that only those at the circle's edge are looked at one by one
  const bins = Math.floor(farthest / edge) + 2;
  const starts = new Int32Array(bins + 1);
  for (let k = 0; k < n; k++) starts[Math.floor(radii[k] / edge) + 1]++;
  for (let bin = 0; bin < bins; bin++) starts[bin + 1] += starts[bin];
  const next = starts.slice();
  const order = new Int32Array(n);
  for (let k = 0; k < n; k++) order[next[Math.floor(radii[k] / edge)]++] = k;
  const below = new Float64Array(bins + 1).fill(whole);
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
