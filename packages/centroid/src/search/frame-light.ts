/** The light of a whole frame as the search works on it. */
import { medianOf, sigmaPerMedianDeviation } from '@holdfast/psf/numerics';
import type { ImageSize } from '../pixels/centroid.ts';
import { absurdE, type LightView, lightAt } from '../pixels/image-view.ts';
import { fillHotPixels } from './hot-pixels.ts';

/** The light of a frame, in which a search takes out what it finds. */
export interface FrameLight extends ImageSize {
  /**
   * Electrons above `base`, row by row; NaN where they may not be used. The next frame uses the array anew.
   */
  readonly pixels: Float32Array;
  readonly base: number;
  /** Rms noise of a pixel, electrons. */
  readonly sigma: number;
}

/** Hot pixels are filled. Undefined for a frame whose pixels are all alike. */
export function frameLight(view: LightView): FrameLight | undefined {
  const { width, height } = view;
  const base = levelOf(view);
  const pixels = takeLight(view, base);
  const sigma = pixelSigma(pixels, width);
  if (!(sigma > 0)) return undefined;
  fillHotPixels(pixels, width, height, sigma);
  return { pixels, width, height, base, sigma };
}

let kept: WeakRef<Float32Array> | undefined;

/**
 * An array for a frame: that of the last call if it had this size and memory was not needed elsewhere. To get
 * it anew for each frame of a camera took a tenth of the time.
 */
function borrowScratch(length: number): Float32Array {
  const last = kept?.deref();
  if (last?.length === length) return last;
  const made = new Float32Array(length);
  kept = new WeakRef(made);
  return made;
}

/** Pixels that tell the level of a frame roughly. */
const levelSamples = 1000;

/** A level among the pixels of the frame; with it taken off, single precision holds what stands out of it. */
function levelOf(view: LightView): number {
  const { width, height } = view;
  const step = Math.max(1, Math.floor((width * height) / levelSamples));
  const values = new Float64Array(Math.ceil((width * height) / step));
  let count = 0;
  for (let k = 0; k < width * height; k += step) {
    const y = Math.floor(k / width);
    const value = lightAt(view, k - y * width, y);
    if (Number.isFinite(value)) values[count++] = value;
  }
  return count > 0 ? medianOf(values, count) : 0;
}

/** The light of every pixel above `base`, row by row. */
function takeLight(view: LightView, base: number): Float32Array {
  const { width, height, valid } = view;
  const out = borrowScratch(width * height);
  for (let y = 0; y < height; y++) {
    // One sum per row tells whether a pixel must be looked at: a choice for each took three times as long.
    const squares = takeRow(view, y, base, out);
    if (valid === undefined && squares < absurdE * absurdE) continue;
    for (let x = 0; x < width; x++) if (Number.isNaN(lightAt(view, x, y))) out[y * width + x] = NaN;
  }
  return out;
}

/**
 * Take one row, and return the sum of its squares. A function of its own, since the engine makes it fast for
 * the numbers that it meets.
 */
function takeRow(view: LightView, y: number, base: number, out: Float32Array): number {
  const { width, data, offset, strideX, strideY, zero, scale } = view;
  const end = (y + 1) * width;
  let at = offset + y * strideY;
  let k = y * width;
  // Two sums, since each addition waits for the one before it.
  let squares = 0;
  let others = 0;
  for (; k + 1 < end; k += 2, at += 2 * strideX) {
    const light = (data[at] - zero) * scale;
    const next = (data[at + strideX] - zero) * scale;
    out[k] = light - base;
    out[k + 1] = next - base;
    squares += light * light;
    others += next * next;
  }
  if (k < end) {
    const light = (data[at] - zero) * scale;
    out[k] = light - base;
    squares += light * light;
  }
  return squares + others;
}

/** Differences of neighbors looked at for the noise: enough for 0.3 %. */
const noiseSamples = 2 ** 18;

/** Rms noise of a pixel from the differences of neighbors in a row; 0 when all are alike. */
function pixelSigma(pixels: Float32Array, width: number): number {
  const step = Math.max(1, Math.floor(pixels.length / noiseSamples));
  const differences = new Float64Array(Math.ceil(pixels.length / step));
  let count = 0;
  let squares = 0;
  for (let k = 0, x = 0; k < pixels.length - 1; k += step, x += step) {
    while (x >= width) x -= width;
    if (x === width - 1) continue;
    const d = Math.abs(pixels[k + 1] - pixels[k]);
    if (!Number.isFinite(d)) continue;
    differences[count++] = d;
    squares += d * d;
  }
  if (count === 0) return 0;
  const deviation = sigmaPerMedianDeviation * medianOf(differences, count);
  // More than half alike (no noise, or whole numbers): the rms is all there is
  return (deviation > 0 ? deviation : Math.sqrt(squares / count)) * Math.SQRT1_2;
}
