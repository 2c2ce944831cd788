/** The light of a whole frame as the search works on it. */
import { medianOf } from '@holdfast/psf/numerics';
import { absurdE, type LightView, lightAt } from '../pixels/image-view.ts';

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
export function levelOf(view: LightView): number {
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

/**
 * The light of every pixel above `base`, row by row; NaN in those that may not be used. The next call uses
 * the array anew.
 */
export function takeLight(view: LightView, base: number): Float32Array {
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
  let squares = 0;
  for (let at = offset + y * strideY, k = y * width; k < (y + 1) * width; at += strideX, k++) {
    const light = (data[at] - zero) * scale;
    out[k] = light - base;
    squares += light * light;
  }
  return squares;
}
