/**
 * What the camera makes of the light: photon and dark noise, full well, read noise, gain, offset, whole numbers.
 *
 *   electrons = min(Poisson(expected + dark), full well) + Normal(0, read noise)
 *   ADU       = electrons / gain + offset, rounded, from 0 to 2^bits - 1
 *
 * The terms are those of the linear camera model of EMVA 1288 (with K = 1 / gain in DN per electron); its variance in
 * electrons is mean + readNoiseE^2 + gainEPerAdu^2 / 12. Frames are handed on in electrons, (ADU - offset) * gain.
 */
import { createImage, type Image, imageHeight, imagePixels, imageWidth, maxImageSide } from './image.ts';
import { maxPoissonMean } from './poisson.ts';
import type { RandomStream } from './random.ts';
import { requireInteger, requireNonNegative, requirePositive } from './require.ts';
import type { StampSize } from './star-plan.ts';

/** A camera at one setting of its gain. All noise figures are 1 sigma. */
export interface Camera {
  /** Noise of reading one pixel, electrons rms. */
  readonly readNoiseE: number;
  /** Electrons for one step of the output. */
  readonly gainEPerAdu: number;
  /** Output of a pixel without any electrons, whole ADU; some five times the noise, or 0 cuts the noise off below. */
  readonly offsetAdu: number;
  /** Bits of the output: it ends at 2^bitDepth - 1. From 1 to 32. */
  readonly bitDepth: number;
  /** Electrons that a pixel can hold. */
  readonly fullWellE: number;
  /** Dark current, electrons per second and pixel. Default 0. */
  readonly darkEPerS?: number;
  /** Exposure time, s; it only sets the dark electrons. Default 1. */
  readonly exposureS?: number;
}

/**
 * A small CMOS camera of the kind used for guiding, at a gain high enough for low read noise (common practice, no
 * source). The last two are the defaults of what a `Camera` may leave out.
 */
export const defaultCamera: Required<Camera> = {
  readNoiseE: 1.5,
  gainEPerAdu: 1,
  offsetAdu: 100,
  bitDepth: 12,
  fullWellE: 12_000,
  darkEPerS: 0,
  exposureS: 1,
};

/** A camera made ready for frames of one size. */
export interface Exposure extends StampSize {
  /**
   * Overwrite `out` with one frame in electrons. The frame is a function of the name of `random`, of which the children
   * 'photon' and 'read' are drawn: the same stream gives the same frame, so give each frame a stream of its own.
   *
   * @param out       row-major pixels, width * height; may be `expected` itself
   * @param expected  expected electrons of star and sky in each pixel (without dark), from 0 to 1e12
   * @throws RangeError with position and value of a pixel that is negative, not finite or above 1e12
   */
  exposeInto(out: Float64Array, expected: Float64Array, random: RandomStream): void;
}

/**
 * Make a camera ready for many frames of one size. A frame allocates its two streams and nothing else.
 *
 * ```ts
 * const exposure = prepareExposure(defaultCamera, { width: 32, height: 32 })
 * const frame = new Float64Array(32 * 32)
 * for (let i = 0; i < 1000; i++) exposure.exposeInto(frame, expected, randomStream('sweep', 'trial', i))
 * ```
 * @throws RangeError or TypeError naming the field of the camera that is out of range
 */
export function prepareExposure(camera: Camera, { width, height }: StampSize): Exposure {
  const resolved = resolveCamera(camera);
  const { readNoiseE, gainEPerAdu, offsetAdu, fullWellE } = resolved;
  requireInteger('width', width, 1, maxImageSide);
  requireInteger('height', height, 1, maxImageSide);
  const pixels = width * height;
  const darkE = resolved.darkEPerS * resolved.exposureS;
  const highestExpected = maxPoissonMean - darkE;
  const highestAdu = largestAdu(resolved);
  return {
    width,
    height,
    exposeInto(out, expected, random) {
      requirePixels('out', out, pixels);
      requirePixels('expected', expected, pixels);
      for (let k = 0; k < pixels; k++)
        if (!(expected[k] >= 0 && expected[k] <= highestExpected))
          refusePixel('expected', expected[k], k, width, `in [0, ${highestExpected}]`);

      const photon = random.stream('photon');
      for (let k = 0; k < pixels; k++) out[k] = Math.min(photon.poisson(expected[k] + darkE), fullWellE);
      const read = random.stream('read');
      for (let k = 0; k < pixels; k++) {
        const electrons = out[k] + readNoiseE * read.normal();
        out[k] = (wholeAdu(electrons / gainEPerAdu + offsetAdu, highestAdu) - offsetAdu) * gainEPerAdu;
      }
    },
  };
}

/**
 * One frame of the camera, in electrons: what it reports after photon, dark and read noise, full well and rounding to
 * whole ADU. Its mean is `expected` plus the dark electrons, as long as nothing saturates.
 *
 * ```ts
 * const sky = createImage(24, 16, new Float64Array(24 * 16).fill(20))
 * const frame = exposeFrame(sky, defaultCamera, randomStream('frame', 1))
 * ```
 * @param expected  expected electrons of star and sky in each pixel, from 0 to 1e12; not modified
 * @param random    the same stream gives the same frame: give each frame a stream of its own
 * @returns a new image of the same size
 * @throws RangeError with position and value of a pixel out of range; RangeError or TypeError for the camera
 */
export function exposeFrame(expected: Image, camera: Camera, random: RandomStream): Image {
  const width = imageWidth(expected);
  const height = imageHeight(expected);
  const frame = new Float64Array(width * height);
  prepareExposure(camera, { width, height }).exposeInto(frame, imagePixels(expected), random);
  return createImage(width, height, frame);
}

/**
 * Noise of one pixel without light, electrons rms: sqrt(readNoiseE^2 + gainEPerAdu^2 / 12).
 * The second term is the rounding to whole ADU (EMVA 1288: sigma_q^2 = 1/12 DN^2); it holds while the read noise is
 * some half ADU or more, else the rounding is not random.
 */
export function pixelNoiseE(camera: Camera): number {
  const { readNoiseE, gainEPerAdu } = resolveCamera(camera);
  return Math.sqrt(readNoiseE * readNoiseE + (gainEPerAdu * gainEPerAdu) / 12);
}

/**
 * Electrons from which on a pixel of a frame counts as saturated: the end of the output range, or a full well less four
 * times the pixel's noise (as the read noise scatters full pixels around it), whichever comes first. At least half of
 * the full well.
 */
export function saturationE(camera: Camera): number {
  const resolved = resolveCamera(camera);
  const outputEnd = (largestAdu(resolved) - resolved.offsetAdu) * resolved.gainEPerAdu;
  const full = resolved.fullWellE;
  return Math.min(outputEnd, Math.max(full / 2, full - 4 * pixelNoiseE(resolved)));
}

/**
 * A frame in electrons as the whole ADU that a file would hold: electrons / gain + offset, rounded, cut to the range.
 * Exact for frames of the same camera.
 *
 * @throws RangeError with position and value of a pixel that is not finite
 */
export function frameToAdu(frame: Image, camera: Camera): Image {
  const resolved = resolveCamera(camera);
  const { gainEPerAdu, offsetAdu } = resolved;
  const highestAdu = largestAdu(resolved);
  const { out, width, height } = copyFinitePixels(frame, 'frame');
  for (let k = 0; k < out.length; k++) out[k] = wholeAdu(out[k] / gainEPerAdu + offsetAdu, highestAdu);
  return createImage(width, height, out);
}

/**
 * A frame in ADU as electrons: (ADU - offset) * gain.
 *
 * @throws RangeError with position and value of a pixel that is not finite
 */
export function aduToElectrons(frameAdu: Image, camera: Camera): Image {
  const { gainEPerAdu, offsetAdu } = resolveCamera(camera);
  const { out, width, height } = copyFinitePixels(frameAdu, 'frameAdu');
  for (let k = 0; k < out.length; k++) out[k] = (out[k] - offsetAdu) * gainEPerAdu;
  return createImage(width, height, out);
}

function resolveCamera(camera: Camera): Required<Camera> {
  const { darkEPerS = defaultCamera.darkEPerS, exposureS = defaultCamera.exposureS } = camera;
  const resolved = { ...camera, darkEPerS, exposureS };
  requireNonNegative('camera.readNoiseE', resolved.readNoiseE);
  requirePositive('camera.gainEPerAdu', resolved.gainEPerAdu);
  requireInteger('camera.bitDepth', resolved.bitDepth, 1, 32);
  requireInteger('camera.offsetAdu', resolved.offsetAdu, 0, largestAdu(resolved) - 1);
  requirePositive('camera.fullWellE', resolved.fullWellE);
  requireNonNegative('camera.darkEPerS', resolved.darkEPerS);
  requireNonNegative('camera.exposureS', resolved.exposureS);
  return resolved;
}

const largestAdu = (camera: Camera): number => 2 ** camera.bitDepth - 1;

/** Nearest whole ADU, halves up, within 0 and `highest`. */
function wholeAdu(adu: number, highest: number): number {
  const whole = Math.floor(adu + 0.5);
  return Math.max(0, Math.min(whole, highest));
}

function requirePixels(name: string, pixels: Float64Array, count: number): void {
  if (!(pixels instanceof Float64Array)) throw new TypeError(`${name} must be a Float64Array`);
  if (pixels.length !== count)
    throw new RangeError(`${name} must have width * height = ${count} values, got ${pixels.length}`);
}

function refusePixel(name: string, value: number, k: number, width: number, allowed: string): never {
  const x = k % width;
  throw new RangeError(`${name} must be ${allowed}, got ${value} at x = ${x}, y = ${(k - x) / width}`);
}

function copyFinitePixels(image: Image, name: string): { out: Float64Array; width: number; height: number } {
  const width = imageWidth(image);
  const out = Float64Array.from(imagePixels(image));
  for (let k = 0; k < out.length; k++)
    if (!Number.isFinite(out[k])) refusePixel(name, out[k], k, width, 'finite everywhere');
  return { out, width, height: imageHeight(image) };
}
