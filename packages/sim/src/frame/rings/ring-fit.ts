/** The diameter, hole and blur of one star's ring, by a fit of the whole picture. */
import type { Noise } from '@holdfast/centroid';
import { emptyVariance } from '@holdfast/centroid/internal';
import type { Image } from '@holdfast/psf';
import { imageHeight, imagePixels, imageWidth } from '@holdfast/psf/internal';
import {
  requireBelow,
  requireFinite,
  requireNames,
  requirePositive,
  requireValid,
  writePhasor,
} from '@holdfast/psf/numerics';
import type { Estimate } from '../../trials/statistics.ts';
import { descendBinned } from './ring-binned.ts';
import { derivedEstimate, dipOfHole, leastDip, ringFlux, ringLightCenter } from './ring-derived.ts';
import { ring, ringUnknowns } from './ring-model.ts';
import type { RingDescent } from './ring-pair.ts';
import type { StampPixels } from './ring-start.ts';

/** How a ring is fitted, and what turns its size into a focus shift. */
export interface RingFitOptions {
  /** Noise of a pixel beside the photon noise of its own light. */
  readonly noise: Noise;
  /** 1 = use the pixel, 0 = do not; row-major, width * height. Non-finite pixels are never used. */
  readonly valid?: Uint8Array;
  /** Where the star is thought to be, px. Default: the center of mass of what stands out. */
  readonly guess?: { readonly x: number; readonly y: number };
  /**
   * Only pixels within this distance of `guess` are used, px; let it reach well beyond the ring. Default:
   * all.
   */
  readonly radiusPx?: number;
  /**
   * Linear obstruction of the ring where it is known: it is then held, and a small ring is measured better.
   */
  readonly obstructionRatio?: number;
  /**
   * F-number of the beam, > 0.5: accounts for the thinning of a fast cone; with `pixelSizeUm` it gives the
   * focus shift.
   */
  readonly fNumber?: number;
  /** Side of a pixel, um, > 0; needed for the focus shift. */
  readonly pixelSizeUm?: number;
}

/** Why no ring was measured. */
export type RingFailureReason =
  /** the star's shape was taken as known: nothing was fitted */
  | 'not-asked'
  /**
   * more than 2 % of the star's pixels are saturated: a star in focus without its core looks like a ring
   * (`measureFrame` only)
   */
  | 'saturated'
  /** the light does not stand out of its own error fifteen times: noise would be taken for edges */
  | 'too-faint'
  /** fewer usable pixels than three times the unknowns */
  | 'too-few-pixels'
  /** the descent found no minimum within its iterations */
  | 'not-converged'
  /** the star is no wider than its blur: a ring, if there is one, does not show */
  | 'no-ring'
  /** more than a third of the outer edge lies beyond the usable pixels */
  | 'clipped';

/** A ring that was fitted to a star, each number with its 1 sigma error. */
export interface RingFound {
  readonly ok: true;
  /** Center of the ring's light (comparable to a center of mass), px. */
  readonly x: Estimate;
  /** Row of its center, px. */
  readonly y: Estimate;
  /** Center of the outer edge, px: for drawing it. On a comet the light's center lies elsewhere. */
  readonly outerCenter: { readonly x: number; readonly y: number };
  /** Its light, electrons. */
  readonly fluxE: Estimate;
  /** Electrons per pixel beside the star. */
  readonly backgroundE: Estimate;
  /**
   * Outer diameter of the ring of its defocus, px: a circle laid around a comet is wider, by up to 3 %. Of a
   * filled disc of unlike colors it is the mean by their light. With `fNumber` and `pixelSizeUm` the error of
   * a ring whose hole does not show holds what diffraction does to its edge; without, it cannot.
   */
  readonly outerDiameterPx: Estimate;
  /** Diameter of the hole, px. */
  readonly innerDiameterPx: Estimate;
  /** Inner over outer diameter. */
  readonly obstructionRatio: Estimate;
  /** FWHM of the Gaussian that blurs the ring: seeing, guiding, diffraction. */
  readonly blurFwhmPx: Estimate;
  /**
   * Center of the hole from the center of the outer edge, px: 0 on axis, along the tail of a comet off axis.
   */
  readonly holeOffsetPx: { readonly x: Estimate; readonly y: Estimate };
  /**
   * Whether the picture shows the hole: a dip of a quarter or more, and a ratio of three sigma or more but
   * below 0.8. Where not, the obstruction ratio and the inner diameter are what telescopes have, not what was
   * seen.
   */
  readonly holeResolved: boolean;
  /** Residuals over photon and read noise: 1 for an even ring, in the hundreds for a bright real one. */
  readonly reducedChiSquare: number;
  /** 1 sigma by which the uneven light moves the center of mass, px: part of the errors of x and y. */
  readonly unevenShiftPx: { readonly x: number; readonly y: number };
  /** Rms unevenness of the ring's light beyond its noise, as a fraction of its brightness. */
  readonly unevenness: number;
  /**
   * Present with `fNumber` and `pixelSizeUm`: size of the focus shift, |dz| = (D / 2) sqrt(4 F^2 - 1), the
   * exact cone D = 2 |dz| tan(asin(1 / 2F)). One frame cannot tell the sign: both sides of focus give the
   * same ring.
   */
  readonly absFocusShiftUm?: Estimate;
  /**
   * What explains the picture best. Two discs about one center: no hole shows, and one even disc does not
   * explain the light, as behind a lens that focuses each color elsewhere. The diameter is then the mean of
   * both by their light, and its error holds how far that lies from the fit of one.
   */
  readonly fitted: 'ring' | 'two-discs';
  /** Steps that the fit took. */
  readonly iterations: number;
}

/** A ring, or the reason why there is none; discriminated by `ok`. */
export type RingFit = RingFound | { readonly ok: false; readonly reason: RingFailureReason };

/** Flux over its error below which a fit takes noise for edges: its stated errors no longer hold. */
export const leastSnr = 15;
/** Share of the outer edge that must lie on usable pixels. */
export const leastEdge = 2 / 3;

/**
 * Fit a blurred ring to a star (a uniform annulus convolved with a Gaussian, integrated over pixels), with
 * the hole and the light allowed a little off center. The weights are those of photon and read noise plus the
 * ring's own unevenness, and pixels that stay far off (shadows of vanes, a neighbor) lose weight. The errors
 * hold for what one frame can say of the ring: uneven light counts as noise that is correlated over the
 * width of the blur.
 *
 * ```ts
 * const fit = fitRing(stamp, { noise: { readNoiseE: 7 }, fNumber: 2.98, pixelSizeUm: 15 })
 * if (fit.ok) console.log(fit.outerDiameterPx.value, fit.absFocusShiftUm?.value)
 * ```
 * @param image  electrons per pixel with one star, background included or not; not modified
 * @throws RangeError or TypeError naming the option that is out of range
 */
export function fitRing(image: Image, options: RingFitOptions): RingFit {
  requireNames('options', options, 'noise valid guess radiusPx obstructionRatio fNumber pixelSizeUm');
  const crop = usablePixels(image, options);
  const { stamp, left, top } = crop;
  const { noise, guess, obstructionRatio, fNumber, pixelSizeUm } = options;
  const fixedVariance = emptyVariance(noise);
  requireTelescope(options);
  const coneTangent = fNumber === undefined ? 0 : 1 / Math.sqrt(4 * fNumber * fNumber - 1);

  if (stamp.use.reduce((sum, used) => sum + used, 0) < 3 * ringUnknowns)
    return { ok: false, reason: 'too-few-pixels' };
  const inStamp = guess && { x: guess.x - left, y: guess.y - top };
  const fit = descendBinned(stamp, inStamp, obstructionRatio, coneTangent, fixedVariance, true);
  if ('reason' in fit) return { ok: false, reason: fit.reason };
  return judge(crop, fit, coneTangent, pixelSizeUm, obstructionRatio !== undefined);
}

/** An obstruction below this can be held. */
export const mostHeldObstruction = 0.95;

/** @throws RangeError or TypeError naming what is out of range */
export function requireTelescope({
  obstructionRatio,
  fNumber,
  pixelSizeUm,
}: Pick<RingFitOptions, 'obstructionRatio' | 'fNumber' | 'pixelSizeUm'>): void {
  if (obstructionRatio !== undefined)
    requireBelow('obstructionRatio', obstructionRatio, 0, mostHeldObstruction);
  if (pixelSizeUm !== undefined) requirePositive('pixelSizeUm', pixelSizeUm);
  if (fNumber !== undefined && !(requirePositive('fNumber', fNumber) > 0.5))
    throw new RangeError(`fNumber must be > 0.5, got ${fNumber}`);
}

/** Unknowns that are sizes. */
const sizes = [ring.hole, ring.radius];

function judge(
  { stamp, left, top }: Crop,
  descent: RingDescent,
  coneTangent: number,
  pixelSizeUm: number | undefined,
  holds: boolean,
): RingFit {
  const { unknowns: u, covariances, fitted } = descent;
  const from = (f: (unknowns: Float64Array) => number): Estimate => derivedEstimate(u, covariances, f, sizes);
  const fluxE = from((v) => ringFlux(v, coneTangent));
  const holeOffsetPx = { x: from((v) => v[ring.holeX]), y: from((v) => v[ring.holeY]) };
  const widened = widenedByComa(holeOffsetPx, u[ring.radius]);
  const dip = dipOfHole(u);
  const obstructionRatio = from((v) => Math.sqrt(v[ring.hole]));
  const holeResolved =
    dip >= leastDip &&
    obstructionRatio.value >= 3 * obstructionRatio.standardError &&
    obstructionRatio.value < mostRatioOfHole;
  const radiusBy = (f: number): Estimate => {
    const { value, standardError } = from((v) => f * v[ring.radius] * (1 - widened));
    return { value, standardError: Math.sqrt(standardError ** 2 + ((widened * value) / 3) ** 2) };
  };
  const circlePx = radiusBy(2);
  const absFocusShiftUm =
    coneTangent > 0 && pixelSizeUm !== undefined
      ? focusShift(radiusBy(pixelSizeUm / coneTangent), coneTangent, holds || fitted === 'two-discs')
      : undefined;
  const outerDiameterPx =
    absFocusShiftUm === undefined || pixelSizeUm === undefined || holeResolved
      ? circlePx
      : {
          value: circlePx.value,
          standardError: (absFocusShiftUm.standardError * 2 * coneTangent) / pixelSizeUm,
        };
  const byNoise = (f: (unknowns: Float64Array) => number): Estimate =>
    derivedEstimate(u, covariances.slice(0, 1), f, sizes);
  // what the model does not draw (astigmatism, a clipped edge) moves its edges rather than the light's center
  const ofLight = (f: (unknowns: Float64Array) => number): Estimate =>
    derivedEstimate(u, covariances.slice(0, 2), f, sizes);
  const unevenShift = (axis: 'x' | 'y'): number => {
    if (descent.unevennessE === 0) return 0;
    const place = (v: Float64Array): number => ringLightCenter(v, axis);
    return Math.sqrt(Math.max(0, ofLight(place).standardError ** 2 - byNoise(place).standardError ** 2));
  };
  // by noise alone: a bright ring of uneven light is not faint
  const flux = byNoise((v) => ringFlux(v, coneTangent));
  if (!(flux.value > leastSnr * flux.standardError)) return { ok: false, reason: 'too-faint' };
  if (!(circlePx.value > 3 * circlePx.standardError)) return { ok: false, reason: 'no-ring' };
  if (!descent.converged) return { ok: false, reason: 'not-converged' };
  if (shareOfEdgeUsed(stamp, u) < leastEdge) return { ok: false, reason: 'clipped' };
  return {
    ok: true,
    x: ofLight((v) => left + ringLightCenter(v, 'x')),
    y: ofLight((v) => top + ringLightCenter(v, 'y')),
    outerCenter: { x: left + u[ring.x], y: top + u[ring.y] },
    fluxE,
    backgroundE: from((v) => v[ring.background]),
    outerDiameterPx,
    innerDiameterPx: from((v) => 2 * v[ring.radius] * (1 - widened) * Math.sqrt(v[ring.hole])),
    obstructionRatio,
    blurFwhmPx: from((v) => v[ring.blur]),
    holeOffsetPx,
    holeResolved,
    reducedChiSquare: descent.reducedChiSquare,
    unevenShiftPx: { x: unevenShift('x'), y: unevenShift('y') },
    unevenness: descent.unevennessE / u[ring.level],
    ...(absFocusShiftUm === undefined ? {} : { absFocusShiftUm }),
    fitted,
    iterations: descent.iterations,
  };
}

/**
 * Share by which a circle laid around a comet is wider than the ring of its defocus: it grows with the square
 * of the hole's offset over the radius (derived), and rays of coma up to 0.15 of the defocus give the factor
 * (measured: 0.3 to 0.6). A third of it is the error.
 */
const wideningByComa = 0.45;

function widenedByComa({ x, y }: { readonly x: Estimate; readonly y: Estimate }, radius: number): number {
  const offset2 = x.value ** 2 + y.value ** 2 - x.standardError ** 2 - y.standardError ** 2;
  return (wideningByComa * Math.max(0, offset2)) / (radius * radius);
}

/** Of the light that most cameras see best, um: what diffraction does hangs on its root alone. */
const usualWavelengthUm = 0.55;
/**
 * The edge of a ring that diffraction draws lies this share of sqrt(wavelength * defocus) inside that of the
 * rays: 0.05 to 0.22 with the hole held or none, more where it is fitted (F/4 to F/10, holes of 0 to 0.4,
 * rings of 1 to 10 waves, fitted to stars of our own wave model).
 */
const edgeByDiffraction = (knowsHole: boolean): number => (knowsHole ? 0.15 : 0.3);

function focusShift({ value, standardError }: Estimate, coneTangent: number, knowsHole: boolean): Estimate {
  const edgeUm = edgeByDiffraction(knowsHole) * Math.sqrt(usualWavelengthUm * Math.abs(value));
  return { value, standardError: Math.sqrt(standardError ** 2 + (edgeUm / coneTangent) ** 2) };
}

/** No telescope has a larger one: a fit that asks for it follows the crescent of a comet. */
const mostRatioOfHole = 0.8;

/** Share of the outer edge that lies on usable pixels. */
export function shareOfEdgeUsed({ width, height, use }: StampPixels, u: Float64Array): number {
  const points = 90;
  const direction = new Float64Array(2);
  let inside = 0;
  for (let k = 0; k < points; k++) {
    writePhasor(direction, 0, k / points);
    const x = Math.round(u[ring.x] + u[ring.radius] * direction[0]);
    const y = Math.round(u[ring.y] + u[ring.radius] * direction[1]);
    if (x >= 0 && x < width && y >= 0 && y < height && use[y * width + x]) inside++;
  }
  return inside / points;
}

/** The part of the image that may be used, and where it begins. */
export interface Crop {
  readonly stamp: StampPixels;
  readonly left: number;
  readonly top: number;
}

export function usablePixels(
  image: Image,
  { valid, guess, radiusPx }: Pick<RingFitOptions, 'valid' | 'guess' | 'radiusPx'>,
): Crop {
  const width = imageWidth(image);
  const height = imageHeight(image);
  const pixels = imagePixels(image);
  if (valid !== undefined) requireValid(valid, width, height);
  if (radiusPx !== undefined) requirePositive('radiusPx', radiusPx);
  if (radiusPx !== undefined && guess === undefined)
    throw new TypeError('radiusPx needs guess, the place that it is measured from');
  if (guess !== undefined) {
    requireFinite('guess.x', guess.x);
    requireFinite('guess.y', guess.y);
  }
  const { x: x0, y: y0 } = guess ?? { x: 0, y: 0 };
  const reach = radiusPx ?? Infinity;
  const left = Math.max(0, Math.ceil(x0 - reach));
  const top = Math.max(0, Math.ceil(y0 - reach));
  const right = Math.min(width - 1, Math.floor(x0 + reach));
  const bottom = Math.min(height - 1, Math.floor(y0 + reach));
  const size = { width: Math.max(1, right - left + 1), height: Math.max(1, bottom - top + 1) };
  const cut = new Float64Array(size.width * size.height);
  const use = new Uint8Array(cut.length);
  for (let y = top, k = 0; y <= bottom; y++)
    for (let x = left; x <= right; x++, k++) {
      const from = y * width + x;
      const near = (x - x0) ** 2 + (y - y0) ** 2 <= reach * reach;
      if (!near || !Number.isFinite(pixels[from]) || (valid !== undefined && valid[from] !== 1)) continue;
      cut[k] = pixels[from];
      use[k] = 1;
    }
  return { stamp: { ...size, pixels: cut, use }, left, top };
}
