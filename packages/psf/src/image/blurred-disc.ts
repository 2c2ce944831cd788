/**
 * Uniform discs blurred by a Gaussian, integrated over the pixels, as a sum over points of their edge.
 *
 * At height v a disc of radius R is a chord |u| <= c(v). With v = R cos(theta), c = R sin(theta), dv = c
 * dtheta, the light in pixel (i, j) is
 *
 *   integral from 0 to pi of  P(j - v)  (S(i + c) - S(i - c))  c  dtheta
 *
 * where P is the light of a blurred point in a pixel and S that of a blurred step (blurred-edge.ts). The
 * integrand goes on beyond 0 and pi as a smooth function with period 2 pi, so equal steps in theta converge
 * faster than any power of their number.
 */

import { writePhasor } from '../numerics/angle.ts';
import { log } from '../numerics/exp-log.ts';
import { addPoint, addStep, type BlurredEdge } from './blurred-edge.ts';

/** Points on the edges of concentric discs. Each stands for two chords, at +offset and -offset. */
export interface DiscEdges {
  /** Distance of the two chords from the center, px, >= 0. */
  readonly offsets: Float64Array;
  /** Half the length of the chords, px. */
  readonly halfChords: Float64Array;
  /** What each of the two chords counts, px. */
  readonly weights: Float64Array;
}

/** A disc of constant brightness, which may be negative: a hole in another. */
export interface Disc {
  readonly radiusPx: number;
  readonly brightness: number;
}

/**
 * Points enough that every pixel is right within `tolerance`, and within 1e-6 of a disc's brightness where
 * that is less.
 *
 * N equal steps around the circle leave at most 2 min(1 px, s) brightness exp(-N (a - tanh(a) / 2)) in a
 * pixel, where sinh(2 a) = 2 N s^2 / R^2. (They alias the harmonic N of the edge, which at spatial frequency
 * k is J_N(k R) exp(-k^2 s^2 / 2), and J_N(N sech a) <= exp(-N (a - tanh a)), Abramowitz & Stegun 9.3.7; this
 * is the largest of these. The factor before it was measured: the greatest found is 1.84 over R / s from 0.05
 * to 100, s from 0.02 to 10 px.)
 */
export function discEdges(discs: readonly Disc[], sigmaPx: number, tolerance: number): DiscEdges {
  const offsets: number[] = [];
  const halfChords: number[] = [];
  const weights: number[] = [];
  const phasor = new Float64Array(2);
  for (const { radiusPx, brightness } of discs) {
    const worst = 2 * Math.min(1, sigmaPx) * Math.abs(brightness);
    const allowed = Math.min(tolerance, 1e-6 * Math.abs(brightness));
    const count = edgePoints(radiusPx / sigmaPx, log(worst / allowed));
    // Of the points between 0 and pi those up to pi / 2 are kept: the others have the same chords at -offset.
    for (let k = 0; k < count / 4; k++) {
      writePhasor(phasor, 0, (k + 0.5) / count);
      const halfChord = radiusPx * phasor[1];
      offsets.push(radiusPx * phasor[0]);
      halfChords.push(halfChord);
      weights.push((brightness * halfChord * 2 * Math.PI) / count);
    }
  }
  return {
    offsets: Float64Array.from(offsets),
    halfChords: Float64Array.from(halfChords),
    weights: Float64Array.from(weights),
  };
}

/** The least multiple of 4 whose exponent N (a - tanh(a) / 2) is at least `digits`. */
function edgePoints(radiusPerSigma: number, digits: number): number {
  const square = radiusPerSigma * radiusPerSigma;
  const exponent = (count: number): number => {
    const sinh = (2 * count) / square;
    const cosh = Math.sqrt(sinh * sinh + 1);
    return (count / 2) * (log(sinh + cosh) - sinh / (1 + cosh));
  };
  // The exponent rises at most as the square of the count, so that no step of this kind passes the place.
  let count = 4;
  while (exponent(count) < digits)
    count = Math.max(count + 4, 4 * Math.floor((count * Math.sqrt(digits / exponent(count))) / 4));
  return count;
}

/**
 * Chords are drawn in blocks of so many (a multiple of 4), whose rows and columns stay in the nearest cache.
 */
const blockSize = 32;

/** Scratch of `addBlurredDiscs`: the rows and columns of one block, chord by chord. */
export interface DiscScratch {
  readonly rows: Float64Array;
  readonly columns: Float64Array;
}

export function discScratch(width: number, height: number): DiscScratch {
  return { rows: new Float64Array(blockSize * height), columns: new Float64Array(blockSize * width) };
}

/**
 * Add `scale` times the discs around (x, y) to every pixel. The light of a chord is the product of a column
 * and a row of numbers, so that of all chords is a product of two matrices.
 */
export function addBlurredDiscs(
  out: Float64Array,
  width: number,
  height: number,
  x: number,
  y: number,
  scale: number,
  edge: BlurredEdge,
  { offsets, halfChords, weights }: DiscEdges,
  { rows, columns }: DiscScratch,
): void {
  for (let block = 0; block < offsets.length; block += blockSize) {
    const size = Math.min(blockSize, offsets.length - block);
    const padded = (size + 3) & ~3;
    rows.fill(0, 0, padded * height);
    columns.fill(0, 0, padded * width);
    for (let n = 0; n < size; n++) {
      const weight = scale * weights[block + n];
      addPoint(rows, n * height, height, y - offsets[block + n], weight, edge);
      addPoint(rows, n * height, height, y + offsets[block + n], weight, edge);
      addStep(columns, n * width, width, x - halfChords[block + n], 1, edge);
      addStep(columns, n * width, width, x + halfChords[block + n], -1, edge);
    }
    addProduct(out, width, height, padded, rows, columns);
  }
}

/**
 * out[j][i] += sum over n of rows[n][j] * columns[n][i], two rows and four n at a time: 4 times as quick as
 * one by one.
 */
function addProduct(
  out: Float64Array,
  width: number,
  height: number,
  size: number,
  rows: Float64Array,
  columns: Float64Array,
): void {
  for (let j = 0; j < height; j += 2) {
    // The last row of an odd height is paired with itself, the second time with nothing to add.
    const pair = j + 1 < height ? 1 : 0;
    for (let n = 0; n < size; n += 4) {
      const r0 = n * height + j;
      const r1 = r0 + height;
      const r2 = r1 + height;
      const r3 = r2 + height;
      const a0 = rows[r0];
      const a1 = rows[r1];
      const a2 = rows[r2];
      const a3 = rows[r3];
      const b0 = pair * rows[r0 + pair];
      const b1 = pair * rows[r1 + pair];
      const b2 = pair * rows[r2 + pair];
      const b3 = pair * rows[r3 + pair];
      if (a0 === 0 && a1 === 0 && a2 === 0 && a3 === 0 && b0 === 0 && b1 === 0 && b2 === 0 && b3 === 0)
        continue;
      const c0 = n * width;
      const c1 = c0 + width;
      const c2 = c1 + width;
      const c3 = c2 + width;
      const above = j * width;
      const below = above + pair * width;
      for (let i = 0; i < width; i++) {
        const p = columns[c0 + i];
        const q = columns[c1 + i];
        const r = columns[c2 + i];
        const s = columns[c3 + i];
        out[above + i] += a0 * p + a1 * q + a2 * r + a3 * s;
        out[below + i] += b0 * p + b1 * q + b2 * r + b3 * s;
      }
    }
  }
}
