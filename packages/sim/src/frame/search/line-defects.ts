/**
 * Columns and rows of a frame that stand off as a whole, as a fault of the sensor does and no star: set level
 * with their neighbors.
 */
import { medianOf } from '@holdfast/psf/numerics';
import type { FrameFaults } from './frame-faults.ts';

/**
 * Lines are judged in pieces of about so many pixels: a star of up to some 400 px never fills half of one.
 */
const piece = 128;
/** Of a line that stands off in one of them, in shorter ones: a fault may begin anywhere. */
const shortPiece = 16;
/** An offset of fewer sigmas is left. */
const leastSigmas = 5;
/**
 * Noise of the median of n differences to the median of six neighbors, in sigmas of a pixel times sqrt(n).
 */
const differenceNoise = 1.38;

/**
 * A line whose sum over a piece stands off its neighbors' by less than this share of the least offset is not
 * looked at further: noise alone reaches it in 1 of 500.
 */
const quietShare = 0.5;

/**
 * Subtract from each piece of a column, then of a row, what its median stands off that of its six neighbors,
 * in place. Where a fault begins is the likeliest place of one step (Hinkley 1970, Biometrika 57, 1, from
 * memory).
 */
export function levelLines(faults: FrameFaults, width: number, height: number, sigma: number): void {
  if (Math.min(width, height) < piece) return;
  const { ofColumns, ofRows } = pieceSums(faults.pixels, width, height);
  const columns = { lines: width, length: height, across: 1, along: width };
  const rows = { lines: height, length: width, across: width, along: 1 };
  levelAlong(faults, columns, ofColumns, sigma);
  levelAlong(faults, rows, ofRows, sigma);
}

const piecesOf = (length: number): number => Math.floor(length / piece);
const cut = (p: number, of: number, length: number): number => Math.floor((p * length) / of);

/**
 * Sums over each piece of each column, and of each row: of the first piece of all lines, then of the second,
 * and so on.
 */
function pieceSums(
  pixels: Float32Array,
  width: number,
  height: number,
): { ofColumns: Float64Array; ofRows: Float64Array } {
  const [across, down] = [piecesOf(width), piecesOf(height)];
  const ofColumns = new Float64Array(down * width);
  const ofRows = new Float64Array(across * height);
  for (let p = 0; p < down; p++)
    for (let y = cut(p, down, height); y < cut(p + 1, down, height); y++)
      for (let q = 0; q < across; q++)
        ofRows[q * height + y] = addPiece(
          ofColumns,
          p * width,
          pixels,
          y * width,
          cut(q, across, width),
          cut(q + 1, across, width),
        );
  return { ofColumns, ofRows };
}

/** Add a piece of a row to the sums of its columns, and return its own sum. */
function addPiece(
  sums: Float64Array,
  first: number,
  pixels: Float32Array,
  row: number,
  from: number,
  to: number,
): number {
  let sum = 0;
  for (let x = from; x < to; x++) {
    const light = pixels[row + x];
    sums[first + x] += light;
    sum += light;
  }
  return sum;
}

/** Lines next to one that tell what it should be: with six, two faults side by side do not mislead. */
const neighbors = 6;

/** How many lines from one its nearest neighbors stand: on one side alone at the frame's edge. */
function nearestLines(line: number, lines: number): Int32Array {
  const first = Math.max(0, Math.min(line - neighbors / 2, lines - 1 - neighbors));
  return Int32Array.from({ length: neighbors }, (_, k) => first + k + (first + k < line ? 0 : 1) - line);
}

const sorted = new Float64Array(neighbors);

/** A value less the median of its neighbors; not finite where one of them is missing. */
function offNeighbors(
  values: Float32Array | Float64Array,
  k: number,
  across: number,
  nearest: Int32Array,
): number {
  let sum = values[k];
  for (let n = 0; n < neighbors; n++) {
    const value = values[k + nearest[n] * across];
    sum += value;
    let at = n;
    for (; at > 0 && sorted[at - 1] > value; at--) sorted[at] = sorted[at - 1];
    sorted[at] = value;
  }
  return Number.isFinite(sum)
    ? values[k] - (sorted[neighbors / 2 - 1] + sorted[neighbors / 2]) / 2
    : Number.NaN;
}

/** Columns or rows; `across` is the distance in memory of neighboring lines, `along` within a line. */
interface Lines {
  readonly lines: number;
  readonly length: number;
  readonly across: number;
  readonly along: number;
}

function levelAlong(
  faults: FrameFaults,
  { lines, length, across, along }: Lines,
  sums: Float64Array,
  sigma: number,
): void {
  const { pixels } = faults;
  let nearest = nearestLines(0, lines);
  const scratch = new Float64Array(2 * piece);
  const leastOf = (count: number): number => (leastSigmas * differenceNoise * sigma) / Math.sqrt(count);
  /** The offset of a part of a line; 0 when it does not stand out. */
  const offsetOf = (line: number, from: number, to: number): number => {
    let count = 0;
    for (let i = from, k = from * along + line * across; i < to; i++, k += along) {
      const difference = offNeighbors(pixels, k, across, nearest);
      if (Number.isFinite(difference)) scratch[count++] = difference;
    }
    if (2 * count < to - from) return 0;
    const offset = medianOf(scratch, count);
    return Math.abs(offset) > leastOf(count) ? offset : 0;
  };
  /** What was taken off each pixel of the line. */
  const taken = new Float64Array(length);
  const subtract = (line: number, from: number, to: number, offset: number): void => {
    if (offset === 0) return;
    for (let i = from, k = from * along + line * across; i < to; i++, k += along) {
      faults.subtract(k, offset);
      taken[i] += offset;
    }
  };
  /** A fault begins or ends about pixel `from` of a line: take it off from the very pixel on. */
  const trim = (line: number, from: number, way: 1 | -1): void => {
    const inside = from + way * shortPiece;
    const offset = taken[Math.max(0, Math.min(length - 1, inside))];
    let [sum, most, first] = [0, 0, inside];
    for (let i = inside; i !== from - way * shortPiece; i -= way) {
      if (i < 0 || i >= length) continue;
      const share = (offNeighbors(pixels, i * along + line * across, across, nearest) + taken[i]) / offset;
      // a hot pixel says no more than one that has the whole offset
      if (Number.isFinite(share)) sum += Math.max(-0.5, Math.min(0.5, share - 0.5));
      if (sum > most) [most, first] = [sum, i];
    }
    for (let i = inside; i !== from - way * shortPiece; i -= way)
      if (i >= 0 && i < length) subtract(line, i, i + 1, (way * (i - first) >= 0 ? offset : 0) - taken[i]);
  };
  const pieces = piecesOf(length);
  const quiet = quietShare * leastOf(length / pieces) * (length / pieces);
  const offsets = new Float64Array(pieces);
  for (let line = 0; line < lines; line++) {
    nearest = nearestLines(line, lines);
    let isOff = false;
    for (let p = 0; p < pieces; p++) {
      const isQuiet = Math.abs(offNeighbors(sums, p * lines + line, 1, nearest)) < quiet;
      offsets[p] = isQuiet ? 0 : offsetOf(line, cut(p, pieces, length), cut(p + 1, pieces, length));
      isOff ||= offsets[p] !== 0;
    }
    if (!isOff) continue;
    taken.fill(0);
    for (const [p, offset] of offsets.entries())
      subtract(line, cut(p, pieces, length), cut(p + 1, pieces, length), offset);
    const short = Math.floor(length / shortPiece);
    for (let p = 0; p < short; p++) {
      const [from, to] = [cut(p, short, length), cut(p + 1, short, length)];
      subtract(line, from, to, offsetOf(line, from, to));
    }
    const half = taken.reduce((most, offset) => Math.max(most, Math.abs(offset)), 0) / 2;
    const isTaken = Array.from(taken, (offset) => Math.abs(offset) > half);
    for (let i = 1; i < length; i++)
      if (isTaken[i] !== isTaken[i - 1]) trim(line, isTaken[i] ? i : i - 1, isTaken[i] ? 1 : -1);
  }
}
