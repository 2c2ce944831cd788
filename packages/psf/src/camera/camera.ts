/**
 * A guide camera at one setting, in the terms of EMVA 1288: what its noise, its limits and its pixels are.
 * What it makes of light is, step by step:
 *
 *   held      = min(Poisson(expected + dark) + hot pixel's dark + cosmic rays, full well)     collect-charge.ts
 *   delivered = response * non-linearity(held)
 *   ADU       = (delivered + Normal(0, read noise) + pixel's offset + row noise) / gain + offset,   read-out.ts
 *               rounded, from 0 to 2^bitDepth - 1
 *
 * with pixels summed before or after the read (binning.ts). Frames are handed on in electrons, (ADU - offset)
 * * gain. With nothing but the required fields this is the linear camera model of the standard (K = 1 / gain
 * in DN per electron), whose variance in electrons is mean + readNoiseE^2 + gainEPerAdu^2 / 12.
 *
 * The whole frame sees the light at the same time. How a shutter opens is left out, rolling or global: a
 * rolling one exposes the rows one after another, which matters only to a star that moves during the
 * read-out. Left out as well: blooming, an image that lingers, column patterns, glow of the amplifier, charge
 * that spreads between pixels.
 */

import type { StreamLabel } from '../chance/random.ts';
import { type Binning, checkBinning, readsPerPixel } from '../image/binning.ts';
import { requireNames } from '../numerics/options.ts';
import { requireInteger, requireNonNegative, requirePositive, requireWithin } from '../numerics/require.ts';
import { type CosmicRays, checkCosmicRays } from './cosmic-rays.ts';
import { checkNonLinearity, deliver, type NonLinearity } from './non-linearity.ts';
import { largestAdu, outputRange } from './output-range.ts';
import { checkHotPixels, type HotPixels } from './sensor/hot-pixels.ts';
import { checkReadNoiseTail, meanSquareRatio, type ReadNoiseTail } from './sensor/read-noise-tail.ts';

/** Largest PRNU of a camera. Five times this is still a response above 0. */
const highestPrnu = 0.2;

/** A camera at one setting of its gain. All noise figures are 1 sigma. What is left out by default is off. */
export interface Camera {
  /** Noise of reading one pixel, electrons rms. */
  readonly readNoiseE: number;
  /** Electrons for one step of the output. */
  readonly gainEPerAdu: number;
  /**
   * Output of a pixel without any electrons, whole ADU; some five times the noise, or 0 cuts the noise off
   * below.
   */
  readonly offsetAdu: number;
  /** Bits of the output: it ends at 2^bitDepth - 1. From 1 to 32. */
  readonly bitDepth: number;
  /** Electrons that a pixel can hold. */
  readonly fullWellE: number;
  /** Dark current, electrons per second and pixel. Default 0. */
  readonly darkEPerS?: number;
  /** Exposure time, s; it sets the dark electrons and the number of cosmic rays. Default 1. */
  readonly exposureS?: number;
  /** Pixels of more read noise than the others. Default none. */
  readonly readNoiseTail?: ReadNoiseTail;
  /** Noise that all pixels of a row share, one number per row and frame, electrons rms. Default 0. */
  readonly rowNoiseE?: number;
  /**
   * Photo response non-uniformity: spread of the response from pixel to pixel, 1 sigma relative to the mean;
   * from 0 to 0.2. A pixel's whole charge is multiplied, dark electrons included. 0.01 is a PRNU1288 of 1 %.
   * Default 0.
   */
  readonly prnu?: number;
  /**
   * Dark signal non-uniformity at no exposure (DSNU1288): spread of the pixels' offsets, electrons rms.
   * Default 0.
   */
  readonly dsnuE?: number;
  /** Pixels with a dark current of their own. Default none. */
  readonly hotPixels?: HotPixels;
  /** Muons that cross the sensor. Default none. */
  readonly cosmicRays?: CosmicRays;
  /** Default: linear up to the full well. */
  readonly nonLinearity?: NonLinearity;
  /** Default none. The other fields describe the single pixel. */
  readonly binning?: Binning;
  /**
   * Names the sensor whose pixels differ: response, offset, hot and noisy pixels follow from it. Default
   * 'sensor'.
   */
  readonly sensorSeed?: StreamLabel;
}

type Numbers = 'darkEPerS' | 'exposureS' | 'rowNoiseE' | 'prnu' | 'dsnuE' | 'sensorSeed';

/**
 * A small CMOS camera of the kind used for guiding, at a gain high enough for low read noise (common
 * practice, no source). From `darkEPerS` on these are the defaults of what a `Camera` may leave out.
 */
export const defaultCamera: Camera & Required<Pick<Camera, Numbers>> = {
  readNoiseE: 1.5,
  gainEPerAdu: 1,
  offsetAdu: 100,
  bitDepth: 12,
  fullWellE: 12_000,
  darkEPerS: 0,
  exposureS: 1,
  rowNoiseE: 0,
  prnu: 0,
  dsnuE: 0,
  sensorSeed: 'sensor',
};

/** A camera that was checked, with its defaults filled in. */
export type ResolvedCamera = Camera & Required<Pick<Camera, Numbers | 'binning'>>;

export function resolveCamera(camera: Camera): ResolvedCamera {
  requireNames(
    'camera',
    camera,
    'readNoiseE gainEPerAdu offsetAdu bitDepth fullWellE darkEPerS exposureS readNoiseTail',
    'rowNoiseE prnu dsnuE hotPixels cosmicRays nonLinearity binning sensorSeed',
  );
  const {
    darkEPerS = defaultCamera.darkEPerS,
    exposureS = defaultCamera.exposureS,
    rowNoiseE = defaultCamera.rowNoiseE,
    prnu = defaultCamera.prnu,
    dsnuE = defaultCamera.dsnuE,
    sensorSeed = defaultCamera.sensorSeed,
    binning = { factor: 1, when: 'after-read' },
  } = camera;
  requireNonNegative('camera.readNoiseE', camera.readNoiseE);
  requirePositive('camera.gainEPerAdu', camera.gainEPerAdu);
  requireInteger('camera.bitDepth', camera.bitDepth, 1, 32);
  requireInteger('camera.offsetAdu', camera.offsetAdu, 0, largestAdu(camera) - 1);
  requirePositive('camera.fullWellE', camera.fullWellE);
  requireNonNegative('camera.darkEPerS', darkEPerS);
  requireNonNegative('camera.exposureS', exposureS);
  requireNonNegative('camera.rowNoiseE', rowNoiseE);
  requireWithin('camera.prnu', prnu, 0, highestPrnu);
  requireNonNegative('camera.dsnuE', dsnuE);
  checkBinning(binning);
  if (camera.readNoiseTail) checkReadNoiseTail(camera.readNoiseTail);
  if (camera.hotPixels) checkHotPixels(camera.hotPixels);
  if (camera.cosmicRays) checkCosmicRays(camera.cosmicRays);
  if (camera.nonLinearity) checkNonLinearity(camera.nonLinearity);
  return { ...camera, darkEPerS, exposureS, rowNoiseE, prnu, dsnuE, sensorSeed, binning };
}

/**
 * Noise of one pixel of a frame without light, electrons rms, over frames and pixels: the temporal dark noise
 * of EMVA 1288.
 *
 *   sqrt(readNoiseE^2 (1 + fraction (noiseRatio^2 - 1)) + gainEPerAdu^2 / 12 + rowNoiseE^2)
 *
 * The second term is the rounding to whole ADU (sigma_q^2 = 1/12 DN^2); it holds while the read noise is some
 * half ADU or more, else the rounding is not random. Binned after the read, a pixel has factor^2 times the
 * variance, of row noise factor^3 times, as the pixels of a row share theirs. The shot noise of dark
 * electrons is not in it, nor what is fixed in the pixels: that changes from place to place, not from frame
 * to frame.
 */
export function pixelNoiseE(camera: Camera): number {
  return Math.sqrt(readVariance(resolveCamera(camera)));
}

function readVariance({
  readNoiseE,
  readNoiseTail,
  gainEPerAdu,
  rowNoiseE,
  binning,
}: ResolvedCamera): number {
  const tail = readNoiseTail ? meanSquareRatio(readNoiseTail) : 1;
  const reads = readsPerPixel(binning);
  const sharedRow = reads > 1 ? reads * binning.factor : 1;
  return (
    reads * (readNoiseE * readNoiseE * tail + (gainEPerAdu * gainEPerAdu) / 12) +
    sharedRow * rowNoiseE * rowNoiseE
  );
}

/**
 * Electrons from which on a pixel of a frame counts as saturated: the end of the output range, or what a full
 * pixel delivers less four times its spread (by noise, PRNU and DSNU), whichever comes first. At least half
 * of what it delivers.
 *
 * A binned pixel counts as saturated when all of its pixels are: a single full pixel among others does not
 * show in a sum.
 */
export function saturationE(camera: Camera): number {
  const resolved = resolveCamera(camera);
  const { fullWellE, nonLinearity, gainEPerAdu, prnu, dsnuE, binning } = resolved;
  const { offsetAdu, highestAdu } = outputRange(resolved);
  const outputEnd = (highestAdu - offsetAdu) * gainEPerAdu;
  const fullPixel = nonLinearity ? deliver(fullWellE, fullWellE, nonLinearity) : fullWellE;
  const pixels = binning.factor * binning.factor;
  const full = pixels * fullPixel;
  const fixedVariance = pixels * (prnu * fullPixel) ** 2 + readsPerPixel(binning) * dsnuE ** 2;
  const spread = Math.sqrt(readVariance(resolved) + fixedVariance);
  return Math.min(outputEnd, Math.max(full / 2, full - 4 * spread));
}
