/**
 * Columns and rows of a frame that stand off as a whole, as a fault of the sensor does and no star: set level
 * with their neighbors.
 */
import { medianOf } from '@holdfast/psf/numerics';

/**
 * Lines are judged in pieces of about so many pixels: a star of up to some 400 px never fills half of one.
 */
const piece = 128;
/** Of a line that stands off in one of them, in shorter ones: a fault may begin anywhere. */
const shortPiece = 16;
/** An offset of fewer sigmas is left. */
const leastSigmas = 5;
/**
 * Noise of the median of n differences to the middle two of four neighbors, in sigmas of a pixel times
 * sqrt(n).
 */
const differenceNoise = 1.43;

/**
 * Subtract from each piece of a column, then of a row, what its median stands off that of its four neighbors,
 * in place.
 */
export function levelLines(pixels: Float64Array, width: number, height: number, sigma: number): void {
  levelAlong(pixels, width, height, 1, width, sigma);
  levelAlong(pixels, height, width, width, 1, sigma);
}

/** @param across  distance in memory of neighboring lines; `along` of neighbors in a line */
function levelAlong(
  pixels: Float64Array,
  lines: number,
  length: number,
  across: number,
  along: number,
  sigma: number,
): void {
  if (length < piece) return;
  const scratch = new Float64Array(2 * piece);
  /** The offset of a part of a line; 0 when it does not stand out. */
  const offsetOf = (line: number, from: number, to: number): number => {
    let count = 0;
    for (let i = from, k = from * along + line * across; i < to; i++, k += along) {
      const a = pixels[k - 2 * across];
      const b = pixels[k - across];
      const c = pixels[k + across];
      const d = pixels[k + 2 * across];
      const difference = pixels[k] - (a + b + c + d - Math.min(a, b, c, d) - Math.max(a, b, c, d)) / 2;
      if (Number.isFinite(difference)) scratch[count++] = difference;
    }
    if (2 * count < to - from) return 0;
    const offset = medianOf(scratch, count);
    return Math.abs(offset) > (leastSigmas * differenceNoise * sigma) / Math.sqrt(count) ? offset : 0;
  };
  const subtract = (line: number, from: number, to: number, offset: number): void => {
    for (let i = from, k = from * along + line * across; i < to; i++, k += along) pixels[k] -= offset;
  };
  const pieces = Math.floor(length / piece);
  const cut = (p: number, of: number): number => Math.floor((p * length) / of);
  for (let line = 2; line < lines - 2; line++) {
    const offsets = Array.from({ length: pieces }, (_, p) =>
      offsetOf(line, cut(p, pieces), cut(p + 1, pieces)),
    );
    if (offsets.every((offset) => offset === 0)) continue;
    for (const [p, offset] of offsets.entries()) subtract(line, cut(p, pieces), cut(p + 1, pieces), offset);
    const short = Math.floor(length / shortPiece);
    for (let p = 0; p < short; p++)
      subtract(line, cut(p, short), cut(p + 1, short), offsetOf(line, cut(p, short), cut(p + 1, short)));
  }
}
