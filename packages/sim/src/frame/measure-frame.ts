/** Every star of a real frame: where it is by each estimator, how bright, how large, what its ring says of the focus. */
import { estimateBackground, type FoundStar, locateStar, type PixelNoise } from '@holdfast/centroid';
import { createImage, type Image, imageHeight, imagePixels, imageWidth } from '@holdfast/psf';
import type { Estimate } from '../statistics.ts';
import { type ApertureLight, measureAperture } from './aperture-light.ts';
import { brightestBeside } from './beside-light.ts';
import { type FramePositions, measurePositions } from './frame-positions.ts';
import { addNeighbours, reaches } from './neighbour-light.ts';
import { requireFinite, requireNonNegative, requirePositive, requireValid } from './require.ts';
import { fitRing, type RingFit, requireTelescope } from './ring-fit.ts';
import { apertureRadius, cutWindow, type ElectronFrame, type StarWindow } from './star-window.ts';

export interface MeasureFrameOptions {
  /** Electrons per unit of the frame, > 0; 1 for a frame in electrons. All errors rest on it. */
  readonly gainEPerAdu: number;
  /** Level of the camera without light, in units of the frame, taken off first: it has no photon noise. Default 0. */
  readonly offsetAdu?: number;
  /** Read noise, electrons rms per pixel. */
  readonly readNoiseE: number;
  /** Sky and dark electrons per pixel that were subtracted from the frame before: their noise is still in it. Default 0. */
  readonly subtractedE?: number;
  /** Units of the frame at which a pixel is saturated, as `readFits` tells. Default: none. */
  readonly saturationAdu?: number;
  /** 1 = use the pixel, 0 = do not; row-major, width * height. Non-finite pixels are never used. */
  readonly valid?: Uint8Array;
  /** Least contrast of a star over its noise. Default 6. */
  readonly minSnr?: number;
  /** Most stars measured, the ones that stand out most. Default 20. */
  readonly maxStars?: number;
  /** Largest diameter of a star's light looked for, px. Default: 0.8 of the frame's shorter side, from 80 to 320. */
  readonly maxDiameterPx?: number;
  /** Linear obstruction of the telescope where it is known: small rings are measured better. */
  readonly obstructionRatio?: number;
  /** With both, rings give the size of the focus shift. */
  readonly fNumber?: number;
  readonly pixelSizeUm?: number;
}

export const measureFrameDefaults = { minSnr: 6, maxStars: 20, offsetAdu: 0 } as const;

/** One star of a frame. Positions on the frame, px; light in electrons. */
export interface MeasuredStar {
  /** Centre of mass of the light, from the search: a label, not a measurement. */
  readonly x: number;
  readonly y: number;
  /** Position by each estimator with its error from photon, read and background noise; or why there is none. */
  readonly positions: FramePositions;
  /**
   * What the uneven light of a ring adds to the error of every position, px; it is shared in part, so that estimators that
   * weigh the ring differently may differ by about this much. 0 for a star without a ring.
   */
  readonly unevenShiftPx: { readonly x: number; readonly y: number };
  readonly ring: RingFit;
  /** Level of the sky around the star, electrons per pixel. */
  readonly backgroundE: Estimate;
  /** Noise of one pixel of that sky, electrons rms, as measured: compare it with what gain and read noise promise. */
  readonly noiseE: Estimate;
  /** Flux over its error. */
  readonly snr: number;
  /** Flux, peak, half-flux diameter, second moments; undefined when the aperture holds no light in sum. */
  readonly light: ApertureLight | undefined;
  /** Share of the star's pixels that are saturated. */
  readonly saturatedFraction: number;
  /** Distance to the next star found, px; Infinity when it is alone. */
  readonly neighbourDistancePx: number;
  /**
   * Brightest of eight sectors just beyond the ring, over the ring's own brightness: the light of a neighbour, even one that
   * was not found or lies off the frame. Undefined without a ring.
   */
  readonly besideRing: Estimate | undefined;
  /** Another star's light falls into this one's: one was found that near, or `besideRing` is 3 % and 5 sigma or more. */
  readonly crowded: boolean;
  /** What the search found. */
  readonly found: FoundStar;
}

/** Rounds of measuring each star with its neighbours taken off. */
const rounds = 3;

/**
 * Find the stars of a frame and measure each, brightest first. Stars whose light mixes are measured in turns, each with the
 * others' rings or Gaussians taken off. A light within that of a star ten times as bright is not counted as a star.
 *
 * ```ts
 * const frame = readFits(bytes)
 * if (frame.ok)
 *   for (const star of measureFrame(frame.image, { gainEPerAdu: 1.2, readNoiseE: 1.5, fNumber: 5, pixelSizeUm: 3.75 }))
 *     console.log(star.positions.centerOfMass, star.ring)
 * ```
 * @param image  a frame in the camera's units, background included or not; not modified
 * @returns the stars; none when nothing stands out
 * @throws RangeError or TypeError naming the option that is out of range
 */
export function measureFrame(image: Image, options: MeasureFrameOptions): MeasuredStar[] {
  requireTelescope(options);
  const frame = electronFrame(image, options);
  const saturationE =
    options.saturationAdu === undefined
      ? undefined
      : (options.saturationAdu - (options.offsetAdu ?? measureFrameDefaults.offsetAdu)) * options.gainEPerAdu;
  const noise: PixelNoise = {
    readNoiseE: requireNonNegative('readNoiseE', options.readNoiseE),
    subtractedE: requireNonNegative('subtractedE', options.subtractedE ?? 0),
  };
  const electrons = createImage(frame.width, frame.height, frame.electrons);
  const seen = locateStar(electrons, {
    valid: frame.valid,
    minSnr: options.minSnr ?? measureFrameDefaults.minSnr,
    maxStars: options.maxStars ?? measureFrameDefaults.maxStars,
    maxDiameterPx:
      options.maxDiameterPx ?? Math.max(80, Math.min(0.8 * Math.min(frame.width, frame.height), 320)),
    ...(saturationE === undefined ? {} : { saturationE }),
  });
  const found = seen.filter((star) => !isRemainder(star, seen));
  const level = levelOfFrame(frame);
  const measure = (star: FoundStar, window: StarWindow, before?: MeasuredStar): MeasuredStar =>
    measureStar(star, window, nearest(star, found), level, noise, saturationE, options, before);

  const stars = found.map((star) => measure(star, cutWindow(frame, star, undefined, without(found, star))));
  for (let round = 1; round < rounds; round++)
    for (const [k, star] of found.entries()) {
      const others = stars.filter((other, j) => j !== k && reaches(other.found, star));
      if (others.length === 0) continue;
      const light = new Float64Array(frame.electrons.length);
      const besides = addNeighbours(light, frame, others).map((other) => other.found);
      stars[k] = measure(star, cutWindow(frame, star, light, besides), stars[k]);
    }
  return stars;
}

/** What the search leaves of an uneven or crowded ring: within the light of a star ten times as bright. */
function isRemainder(star: FoundStar, all: readonly FoundStar[]): boolean {
  return all.some(
    (other) =>
      other.flux > 10 * star.flux &&
      (other.x - star.x) ** 2 + (other.y - star.y) ** 2 < apertureRadius(other) ** 2,
  );
}

/** Distance to the nearest other star, px. */
function nearest(star: FoundStar, all: readonly FoundStar[]): number {
  let least2 = Infinity;
  for (const other of all)
    if (other !== star) least2 = Math.min(least2, (other.x - star.x) ** 2 + (other.y - star.y) ** 2);
  return Math.sqrt(least2);
}

const without = (stars: readonly FoundStar[], one: FoundStar): FoundStar[] =>
  stars.filter((star) => star !== one);

function electronFrame(
  image: Image,
  { gainEPerAdu, saturationAdu, valid, offsetAdu = measureFrameDefaults.offsetAdu }: MeasureFrameOptions,
): ElectronFrame {
  requirePositive('gainEPerAdu', gainEPerAdu);
  requireFinite('offsetAdu', offsetAdu);
  if (saturationAdu !== undefined) requireFinite('saturationAdu', saturationAdu);
  const width = imageWidth(image);
  const height = imageHeight(image);
  if (valid !== undefined) requireValid(valid, width, height);
  const pixels = imagePixels(image);
  const electrons = new Float64Array(pixels.length);
  const usable = new Uint8Array(pixels.length);
  for (let k = 0; k < pixels.length; k++) {
    if (!Number.isFinite(pixels[k]) || (valid !== undefined && valid[k] !== 1)) continue;
    electrons[k] = (pixels[k] - offsetAdu) * gainEPerAdu;
    usable[k] = 1;
  }
  return { width, height, electrons, valid: usable };
}

interface SkyLevel {
  readonly level: number;
  readonly levelSigma: number;
  readonly sigma: number;
  readonly pixelsUsed: number;
}

/** Level of the whole frame, for stars without sky of their own. */
function levelOfFrame({ width, height, electrons, valid }: ElectronFrame): SkyLevel {
  const background = estimateBackground(createImage(width, height, electrons), { valid, center: 'median' });
  return background.ok ? background : { level: 0, levelSigma: 0, sigma: 0, pixelsUsed: 1 };
}

function measureStar(
  found: FoundStar,
  window: StarWindow,
  neighbourDistancePx: number,
  frameLevel: SkyLevel,
  noise: PixelNoise,
  saturationE: number | undefined,
  { obstructionRatio, fNumber, pixelSizeUm }: MeasureFrameOptions,
  before: MeasuredStar | undefined,
): MeasuredStar {
  const sky = window.background ?? frameLevel;
  const positions = measurePositions(window, sky, noise, saturationE);
  const { stamp, left, top } = window;
  const at = positions.centerOfMass.ok ? positions.centerOfMass : found;
  const centre = { x: at.x - left, y: at.y - top };
  // a star that showed no ring shows none without its neighbours
  const isPoint = before !== undefined && !before.ring.ok && before.ring.reason === 'no-ring';
  const fit: RingFit = isPoint
    ? before.ring
    : fitRing(stamp, {
        noise,
        valid: unsaturated(window, saturationE),
        guess: centre,
        ...(obstructionRatio === undefined ? {} : { obstructionRatio }),
        ...(fNumber === undefined ? {} : { fNumber }),
        ...(pixelSizeUm === undefined ? {} : { pixelSizeUm }),
      });
  const ring: RingFit = fit.ok ? { ...fit, x: moved(fit.x, left), y: moved(fit.y, top) } : fit;
  const besideRing = fit.ok ? brightestBeside(stamp, window.valid, fit) : undefined;
  const light = measureAperture({
    width: imageWidth(stamp),
    height: imageHeight(stamp),
    pixels: stamp.data,
    valid: window.valid,
    ...centre,
    radiusPx: window.apertureRadiusPx,
    backgroundE: sky.level,
    backgroundSigmaE: sky.levelSigma,
    fixedVariance: noise.readNoiseE ** 2 + (noise.subtractedE ?? 0),
  });
  return {
    x: found.x,
    y: found.y,
    positions,
    unevenShiftPx: ring.ok ? ring.unevenShiftPx : { x: 0, y: 0 },
    ring,
    backgroundE: { value: sky.level, standardError: sky.levelSigma },
    noiseE: { value: sky.sigma, standardError: sky.sigma / Math.sqrt(2 * Math.max(1, sky.pixelsUsed - 1)) },
    snr: light === undefined ? 0 : light.fluxE.value / light.fluxE.standardError,
    light,
    saturatedFraction: found.saturatedFraction,
    neighbourDistancePx,
    besideRing,
    crowded:
      neighbourDistancePx < 2 * window.apertureRadiusPx ||
      (besideRing !== undefined && besideRing.value > Math.max(0.03, 5 * besideRing.standardError)),
    found,
  };
}

const moved = ({ value, standardError }: Estimate, by: number): Estimate => ({
  value: value + by,
  standardError,
});

/** Saturated pixels say nothing of a ring's shape. */
function unsaturated({ stamp, valid }: StarWindow, saturationE: number | undefined): Uint8Array {
  if (saturationE === undefined) return valid;
  return valid.map((use, k) => (use && stamp.data[k] < saturationE ? 1 : 0));
}
