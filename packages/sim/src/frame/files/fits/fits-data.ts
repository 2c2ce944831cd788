/**
 * Pixels from bytes: the six BITPIX codes, big-endian, scaled by BSCALE and BZERO (FITS 4.0, sections 4.4.2.5
 * and 5).
 */

export interface PixelCode {
  readonly bitpix: number;
  readonly bscale: number;
  readonly bzero: number;
  /** Stored integer that stands for "no value"; only in integer images. */
  readonly blank?: number;
}

const twoTo63 = 2 ** 63;

/**
 * Physical values bzero + bscale * stored of `count` pixels from byte `start`; NaN where the stored value is
 * `blank`. 64-bit integers beyond 2^53 are rounded to the nearest double.
 */
export function decodePixels(bytes: Uint8Array, start: number, count: number, code: PixelCode): Float64Array {
  const { bitpix, bscale, bzero, blank } = code;
  const view = new DataView(bytes.buffer, bytes.byteOffset + start, (count * Math.abs(bitpix)) / 8);
  const out = new Float64Array(count);
  // unsigned 64-bit: turning the sign bit is exact, adding 2^63 to a double is not
  if (bitpix === 64 && bscale === 1 && bzero === twoTo63) {
    readInt64(out, view, 0x80000000, blank);
    return out;
  }
  if (bitpix === 8) for (let k = 0; k < count; k++) out[k] = view.getUint8(k);
  else if (bitpix === 16) for (let k = 0; k < count; k++) out[k] = view.getInt16(2 * k);
  else if (bitpix === 32) for (let k = 0; k < count; k++) out[k] = view.getInt32(4 * k);
  else if (bitpix === -32) for (let k = 0; k < count; k++) out[k] = view.getFloat32(4 * k);
  else if (bitpix === -64) for (let k = 0; k < count; k++) out[k] = view.getFloat64(8 * k);
  else readInt64(out, view, 0, blank);
  if (blank !== undefined && bitpix !== 64)
    for (let k = 0; k < count; k++) if (out[k] === blank) out[k] = Number.NaN;
  if (bscale !== 1 || bzero !== 0) for (let k = 0; k < count; k++) out[k] = bzero + bscale * out[k];
  return out;
}

/** Signed 64-bit, or unsigned when `flip` turns the sign bit. */
function readInt64(out: Float64Array, view: DataView, flip: number, blank: number | undefined): void {
  for (let k = 0; k < out.length; k++) {
    const high = view.getInt32(8 * k) ^ flip;
    out[k] = (flip === 0 ? high : high >>> 0) * 4294967296 + view.getUint32(8 * k + 4);
  }
  if (blank === undefined || !Number.isInteger(blank)) return;
  // compared as stored: two integers beyond 2^53 may round to one double
  const stored = BigInt(blank);
  for (let k = 0; k < out.length; k++) if (view.getBigInt64(8 * k) === stored) out[k] = Number.NaN;
}

/**
 * Largest value that an unscaled 8 or 16-bit pixel can hold: where a camera that fills its range saturates.
 */
export function topOfRange({ bitpix, bscale, bzero }: PixelCode): number | undefined {
  if (bscale !== 1) return undefined;
  if (bitpix === 8) return 255 + bzero;
  return bitpix === 16 ? 32767 + bzero : undefined;
}
