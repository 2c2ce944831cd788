/**
 * Where light stands out, at which scale: for boxes of growing side, the light inside against that around, in
 * units of its noise. Points answer to the smallest box, a ring to the box that just holds it. Light around
 * is taken in a box twice as wide, so that a level or slope of the background gives nothing.
 */

import { medianOf, sigmaPerMedianDeviation } from '@holdfast/psf/numerics';
import { type Candidate, RollingTable, reachOf, significanceOf } from './box-contrast.ts';
import { boxRow, contrastInRow, findReaching } from './box-row.ts';
import { type RemovedLight, RemovedLights } from './removed-light.ts';
import { returnMemory } from './table-memory.ts';

/** The contrasts of a frame, from which light can be taken out. */
export interface Contrasts {
  /** All places, at all box sides, where the contrast has a local maximum of at least `least`. */
  readonly candidates: readonly Candidate[];
  /**
   * How far contrasts at one box side scatter beyond what the noise of pixels makes, 1 or more: clouds,
   * faults of the flat field (after the empty apertures of Labbe et al. 2003, AJ 125, 1107, from memory).
   * Undefined in a frame too small to tell.
   */
  structure(side: number): number | undefined;
  /** The contrast of a candidate without the light that was taken out. */
  contrastNow(candidate: Candidate): number;
  takeOut(light: RemovedLight): void;
}

/** What is looked for in a frame. */
export interface ContrastSearch {
  /** Noise of a pixel, electrons. */
  readonly sigma: number;
  /** Least contrast of a candidate over its noise. */
  readonly least: number;
  /** Of the boxes, px, odd. */
  readonly sides: readonly number[];
  /** Whether to sample the contrasts for `structure`. */
  readonly withStructure: boolean;
  /** Called now and then with the share of the frame that is done, 0 to 1. */
  readonly onShare?: ((share: number) => void) | undefined;
}

/** Rows between two calls of `onShare`. */
const rowsPerShare = 256;

/**
 * Look at the frame once, from its first row to its last. Non-finite pixels are left out. Only as many rows
 * of the summed-area table are held as the largest box reaches over.
 */
export function findContrasts(
  pixels: Float32Array,
  width: number,
  height: number,
  { sigma, least, sides: asked, withStructure, onShare }: ContrastSearch,
): Contrasts {
  const sides = asked.filter((side) => side < Math.min(width, height));
  const largest = Math.max(0, ...sides);
  const table = new RollingTable(pixels, width, height, largest, stepOf(largest), sigma);
  const searches = sides.map((side) => new ScaleSearch(table, side, least));
  const grids = withStructure ? sides.map((side) => new StructureGrid(table, side)) : [];
  const candidates: Candidate[] = [];
  // Each scale follows the sums as closely as its boxes allow: the rows that it reads are then at hand.
  for (let r = 1, next = 1; r <= height; r++) {
    if (r === next) next = table.sumRows(r);
    for (const search of searches) search.follow(r, candidates);
    for (const grid of grids) grid.follow(r);
    if (r % rowsPerShare === 0) onShare?.(r / height);
  }
  returnMemory(table.memory);
  const removed = new RemovedLights();
  const contrastNow = ({ x, y, side, before, inside, around }: Candidate): number => {
    const { w, h, W, H } = reachOf(x, y, side, width, height);
    let [lossInside, lossAll] = [0, 0];
    for (
      let k = removed.next(0, x - W, y - H, x + W, y + H);
      k >= 0;
      k = removed.next(k + 1, x - W, y - H, x + W, y + H)
    ) {
      lossInside += removed.sum(k, x - w, y - h, x + w + 1, y + h + 1);
      lossAll += removed.sum(k, x - W, y - H, x + W + 1, y + H + 1);
    }
    if (lossAll === 0 && lossInside === 0) return before;
    return before - significanceOf(lossInside, inside, lossAll - lossInside, around, sigma);
  };
  return {
    candidates,
    structure: (side) => structureOf(grids.find((grid) => grid.side === side)?.places ?? [], contrastNow),
    contrastNow,
    takeOut: (light) => removed.add(light),
  };
}

/** Sides of the boxes, px: odd, a factor of about 1.4 apart, up to the largest light looked for. */
export function boxSides(largestDiameterPx: number): number[] {
  const sides = [3];
  for (let side = 3; side < largestDiameterPx; ) {
    side = Math.max(side + 2, 2 * Math.round(0.7 * side) + 1);
    sides.push(side);
  }
  return sides;
}

/** Least number of boxes whose scatter says something. */
const leastBoxes = 100;

/** Boxes of one side next to each other over the whole frame; of very many a part. */
class StructureGrid {
  readonly places: Candidate[] = [];
  readonly side: number;
  readonly #table: RollingTable;
  readonly #step: number;
  readonly #columns: number;
  readonly #rows: number;
  readonly #every: number;

  constructor(table: RollingTable, side: number) {
    this.#table = table;
    this.side = side;
    this.#step = Math.max(2, Math.floor(side / 2));
    this.#columns = Math.floor((table.width - 2 * side) / this.#step);
    this.#rows = Math.floor((table.height - 2 * side) / this.#step);
    const boxes = Math.max(0, this.#columns) * Math.max(0, this.#rows);
    if (boxes < leastBoxes) this.#rows = 0;
    this.#every = Math.max(1, Math.floor(Math.sqrt(boxes / 4000)));
  }

  /** Take the boxes whose last row is row r of the sums, if there are any. */
  follow(r: number): void {
    const { side } = this;
    const down = (r - 2 * side - 1) / (this.#step * this.#every);
    if (!(Number.isInteger(down) && down >= 0 && down * this.#every < this.#rows)) return;
    for (let i = 0; i < this.#columns; i += this.#every) {
      const place = this.#table.candidate(side + i * this.#step, r - side - 1, side);
      if (place !== undefined) this.places.push(place);
    }
  }
}

function structureOf(
  places: readonly Candidate[],
  contrastNow: (place: Candidate) => number,
): number | undefined {
  const count = places.length;
  if (count < leastBoxes / 2) return undefined;
  const values = Float64Array.from(places, contrastNow);
  const middle = medianOf(values, count);
  for (let k = 0; k < count; k++) values[k] = Math.abs(values[k] - middle);
  return Math.max(1, sigmaPerMedianDeviation * medianOf(values, count));
}

/**
 * Contrasts of one row at every step-th column, with one place more at either end: where they reach `least`
 * (`hits`), elsewhere -Infinity.
 */
interface ContrastRow {
  readonly values: Float64Array;
  readonly hits: Int32Array;
  count: number;
}

function contrastRow(columns: number): ContrastRow {
  return { values: new Float64Array(columns + 2).fill(-Infinity), hits: new Int32Array(columns), count: 0 };
}

function clearRow(row: ContrastRow): void {
  for (let k = 0; k < row.count; k++) row.values[row.hits[k]] = -Infinity;
  row.count = 0;
}

function addHit(row: ContrastRow, i: number, contrast: number): void {
  row.values[i + 1] = contrast;
  row.hits[row.count++] = i + 1;
}

/** Fill `out` with one row. Where a box has room enough on both sides, without cases. */
function fillRow(
  out: ContrastRow,
  table: RollingTable,
  y: number,
  side: number,
  step: number,
  least: number,
): void {
  const { width, light } = table;
  const reaching = table.memory.columns;
  clearRow(out);
  const columns = Math.ceil(width / step);
  const row = boxRow(table, y, side);
  const first = row ? Math.ceil(side / step) : columns;
  const end = row ? Math.max(first, Math.floor((width - 1 - side) / step) + 1) : columns;
  let beyond = -Infinity;
  for (let i = 0; i < columns; i = i + 1 === first ? end : i + 1) {
    const c = table.contrast(i * step, y, side);
    if (c >= least) addHit(out, i, c);
    if (i === end) beyond = c;
  }
  if (row === undefined) return;
  // Boxes that share two of three columns hardly differ: of single steps the first pass takes every second,
  // and the second one those between where one may reach `least`.
  const apart = step === 1 ? 2 : 1;
  const near = least / apart;
  const count = findReaching(table.memory, row, first * step, end * step, apart * step, near);
  for (let k = 0; k < count; k++) {
    const c = contrastInRow(light, row, reaching[k]);
    if (c >= least) addHit(out, reaching[k] / step, c);
  }
  if (apart === 1) return;
  let next = first + 1;
  const addBetween = (i: number): void => {
    if (i < next || i >= end) return;
    const c = contrastInRow(light, row, i);
    if (c >= least) addHit(out, i, c);
    next = i + 2;
  };
  for (let k = 0; k < count; k++) {
    addBetween(reaching[k] - 1);
    addBetween(reaching[k] + 1);
  }
  if (beyond >= near && (end - first) % 2 === 0) addBetween(end - 1);
}

/**
 * Every so many columns and rows are looked at: wide boxes change slowly, and a sixth of the side meets every
 * maximum.
 */
const stepOf = (side: number): number => Math.max(1, Math.floor(side / 6));

/** Local maxima of the contrast at one box side that reach `least`, row after row. */
class ScaleSearch {
  readonly #step: number;
  readonly #rows: number;
  #next = 0;
  readonly #table: RollingTable;
  readonly #side: number;
  readonly #least: number;
  #above: ContrastRow;
  #here: ContrastRow;
  #below: ContrastRow;

  constructor(table: RollingTable, side: number, least: number) {
    this.#step = stepOf(side);
    this.#rows = Math.ceil(table.height / this.#step);
    this.#table = table;
    this.#side = side;
    this.#least = least;
    const columns = Math.ceil(table.width / this.#step);
    this.#above = contrastRow(columns);
    this.#here = contrastRow(columns);
    this.#below = contrastRow(columns);
  }

  /** Look at the rows whose boxes end with row r of the sums, all others when that is the last. */
  follow(r: number, found: Candidate[]): void {
    const { height } = this.#table;
    while (this.#next < this.#rows && (r === height || this.#next * this.#step + this.#side + 1 <= r))
      this.#take(this.#next++, found);
    if (r === height) this.#take(this.#rows, found);
  }

  /** Look at row number j, from 0 to `rows`, and add the maxima of the row before it to `found`. */
  #take(j: number, found: Candidate[]): void {
    const step = this.#step;
    [this.#above, this.#here, this.#below] = [this.#here, this.#below, this.#above];
    if (j < this.#rows) fillRow(this.#below, this.#table, j * step, this.#side, step, this.#least);
    else clearRow(this.#below);
    if (j === 0) return;
    const { values, hits, count } = this.#here;
    const up = this.#above.values;
    const down = this.#below.values;
    for (let k = 0; k < count; k++) {
      const i = hits[k];
      const c = values[i];
      const isPeak =
        c > values[i - 1] &&
        c >= values[i + 1] &&
        c > up[i - 1] &&
        c > up[i] &&
        c > up[i + 1] &&
        c >= down[i - 1] &&
        c >= down[i] &&
        c >= down[i + 1];
      if (!isPeak) continue;
      // A peak stands out, so that there is a candidate.
      found.push(this.#table.candidate((i - 1) * step, (j - 1) * step, this.#side) as Candidate);
    }
  }
}
