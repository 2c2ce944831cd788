/** Where a template fits best among whole-pixel places: the start of every fit with a template. */

import { createPixelList, type PixelList } from '../pixels/valid-pixels.ts';
import { type CorrelationMaps, FastCorrelation, transformSize } from './fast-correlation.ts';
import type { TemplateModel } from './template-model.ts';
import { createTemplateValues, fillTemplate, type TemplateTable } from './template-table.ts';

/** The best place found; flux and background are those of least squares there. */
export interface TemplateMatch {
  x: number;
  y: number;
  parameter: number;
  flux: number;
  background: number;
  /** Fall of the sum of squares by the star, e^2. */
  score: number;
}

/**
 * How the whole-pixel places are tried: one by one, all at once by Fourier transform, or whichever is less
 * work.
 */
export const templateSearches = ['auto', 'direct', 'fourier'] as const;
/** How the best place is looked for. */
export type TemplateSearch = (typeof templateSearches)[number];

/** Work of all transforms of a search per value and level, in steps of the direct sum (measured: 3 to 6). */
const fourierCost = 6;

/** Pixels of the template below this share of its peak are left out of the search. */
const faintShare = 0.02;

/** Below this share of the terms, a difference is cancellation error. */
const cancellation = 1e-12;

/** The pixels of a star of flux 1 that stands on a pixel's center, from that pixel. */
interface Stamp {
  readonly table: TemplateTable;
  readonly dx: Int32Array;
  readonly dy: Int32Array;
  readonly value: Float64Array;
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
  readonly sum: number;
  readonly squares: number;
}

/** The whole-pixel places that are tried. */
interface Places {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

/**
 * Searches frames of one size for a star that looks like a template. It holds scratch: one caller at a time.
 */
export class TemplateSearcher {
  readonly #model: TemplateModel;
  readonly #width: number;
  readonly #height: number;
  readonly #fitBackground: boolean;
  readonly #way: TemplateSearch;
  readonly #stamps: (Stamp | undefined)[];
  /** The frame: values, 1 where a pixel is in use, their number and sum. */
  readonly #dense: Float64Array;
  readonly #used: Uint8Array;
  #pixels = 0;
  #total = 0;
  /** The rectangle that the pixels fill without gaps, if they do. */
  #full: Places | undefined;
  /** What a stamp meets at one place, and the fit that follows from it. */
  readonly #sums: Sums = { product: 0, template: 0, squares: 0 };
  readonly #fit = { score: 0, flux: 0, background: 0 };
  #transform: FastCorrelation | undefined;
  #transformSide = 0;
  /** Whether the transform holds the present frame. */
  #isLoaded = false;

  /**
   * @param width          largest extent of the pixel lists, and `height`
   * @param fitBackground  whether a level under the star is fitted
   */
  constructor(
    model: TemplateModel,
    width: number,
    height: number,
    fitBackground: boolean,
    way: TemplateSearch = 'auto',
  ) {
    this.#model = model;
    this.#width = width;
    this.#height = height;
    this.#fitBackground = fitBackground;
    this.#way = way;
    this.#stamps = Array.from({ length: model.members });
    this.#dense = new Float64Array(width * height);
    this.#used = new Uint8Array(width * height);
  }

  /**
   * Try every whole place within `reach` px of (centerX, centerY), or all over the pixels in the list where
   * `reach` is Infinity, with every member of the model, and fill `match` with the best. For each the flux
   * and, with `fitBackground`, the background of least squares are known in closed form, so that the score is
   * that of the normalized cross-correlation. Between the places the score's parabola is taken.
   *
   * @returns false when the light nowhere stands out upwards
   */
  find(match: TemplateMatch, list: PixelList, centerX: number, centerY: number, reach: number): boolean {
    this.#load(list);
    const places = reach < Infinity ? this.#placesNear(centerX, centerY, reach) : list;
    let best: Stamp | undefined;
    match.score = 0;
    for (let member = 0; member < this.#model.members; member++) {
      const stamp = this.#stampOf(member);
      if (!this.#searchPlaces(match, stamp, places)) continue;
      best = stamp;
      match.parameter = this.#model.parameterOf(member);
    }
    if (best === undefined) return false;
    this.#refine(match, best);
    return true;
  }

  #load({ count, column, row, value, left, right, top, bottom }: PixelList): void {
    this.#used.fill(0);
    this.#isLoaded = false;
    this.#pixels = count;
    this.#total = 0;
    for (let k = 0; k < count; k++) {
      const at = row[k] * this.#width + column[k];
      this.#dense[at] = value[k];
      this.#used[at] = 1;
      this.#total += value[k];
    }
    const isFull = count === (right - left + 1) * (bottom - top + 1);
    this.#full = isFull ? { left, right, top, bottom } : undefined;
  }

  #placesNear(x: number, y: number, reach: number): Places {
    return {
      left: Math.max(0, Math.round(x - reach)),
      right: Math.min(this.#width - 1, Math.round(x + reach)),
      top: Math.max(0, Math.round(y - reach)),
      bottom: Math.min(this.#height - 1, Math.round(y + reach)),
    };
  }

  #stampOf(member: number): Stamp {
    const table = this.#model.table(member);
    let stamp = this.#stamps[member];
    if (stamp?.table !== table) {
      stamp = stampOf(table);
      this.#stamps[member] = stamp;
    }
    return stamp;
  }

  /**
   * Keep in `match` the place where the stamp fits better than what stands there; false when there is none.
   */
  #searchPlaces(match: TemplateMatch, stamp: Stamp, { left, right, top, bottom }: Places): boolean {
    const maps = this.#mapsFor(stamp, (right - left + 1) * (bottom - top + 1));
    const sums = this.#sums;
    let isBetter = false;
    for (let y = top; y <= bottom; y++)
      for (let x = left; x <= right; x++) {
        if (maps === undefined) this.#sumAt(stamp, x, y);
        else {
          const k = y * this.#width + x;
          sums.product = maps.product[k];
          sums.template = maps.template[k];
          sums.squares = maps.squares[k];
        }
        if (!(this.#rate(stamp) > match.score)) continue;
        isBetter = true;
        match.x = x;
        match.y = y;
        this.#copyFit(match);
      }
    return isBetter;
  }

  /**
   * Maps of all places by Fourier transform, where that is asked for or less work than going from place to
   * place.
   */
  #mapsFor(stamp: Stamp, places: number): CorrelationMaps | undefined {
    const side = Math.max(stamp.right - stamp.left, stamp.bottom - stamp.top) + 1;
    const size = transformSize(this.#width, this.#height, side);
    const work = fourierCost * size * size * Math.log2(size);
    if (this.#way === 'direct' || (this.#way === 'auto' && places * stamp.value.length < work))
      return undefined;
    if (this.#transform === undefined || size !== this.#transformSide) {
      this.#transform = new FastCorrelation(this.#width, this.#height, side);
      this.#transformSide = size;
      this.#isLoaded = false;
    }
    if (!this.#isLoaded) this.#transform.load(this.#dense, this.#used);
    this.#isLoaded = true;
    return this.#transform.correlate(stamp);
  }

  /**
   * From the best whole place to a part of a pixel. The sums are taken directly: those of a transform carry
   * its rounding.
   */
  #refine(match: TemplateMatch, stamp: Stamp): void {
    const { x, y } = match;
    const here = this.#scoreAt(stamp, x, y);
    this.#copyFit(match);
    match.x += parabolaPeak(this.#scoreAt(stamp, x - 1, y), here, this.#scoreAt(stamp, x + 1, y));
    match.y += parabolaPeak(this.#scoreAt(stamp, x, y - 1), here, this.#scoreAt(stamp, x, y + 1));
  }

  #scoreAt(stamp: Stamp, x: number, y: number): number {
    this.#sumAt(stamp, x, y);
    return this.#rate(stamp);
  }

  /** Fill the sums of a stamp on the pixel (x, y). */
  #sumAt(stamp: Stamp, x: number, y: number): void {
    const full = this.#full;
    const isInside =
      full !== undefined &&
      x + stamp.left >= full.left &&
      x + stamp.right <= full.right &&
      y + stamp.top >= full.top &&
      y + stamp.bottom <= full.bottom;
    if (isInside) sumInside(this.#sums, stamp, this.#dense, this.#width, x, y);
    else sumUsed(this.#sums, stamp, this.#dense, this.#used, this.#width, this.#height, x, y);
  }

  /** Score, flux and background of least squares that follow from the sums. */
  #rate(stamp: Stamp): number {
    const fit = this.#fit;
    const sums = this.#sums;
    const share = this.#fitBackground ? sums.template / this.#pixels : 0;
    const product = sums.product - share * this.#total;
    const squares = sums.squares - share * sums.template;
    fit.score =
      product > cancellation * Math.abs(sums.product) && squares > 1e-9 * stamp.squares
        ? (product * product) / squares
        : 0;
    fit.flux = product / squares;
    fit.background = this.#fitBackground ? (this.#total - fit.flux * sums.template) / this.#pixels : 0;
    return fit.score;
  }

  #copyFit(match: TemplateMatch): void {
    match.score = this.#fit.score;
    match.flux = this.#fit.flux;
    match.background = this.#fit.background;
  }
}

/** Several estimators, and many stars, share one table: its pixels are picked out once. */
const stamps = new WeakMap<TemplateTable, Stamp>();

function stampOf(table: TemplateTable): Stamp {
  const known = stamps.get(table);
  if (known !== undefined) return known;
  const stamp = makeStamp(table);
  stamps.set(table, stamp);
  return stamp;
}

function makeStamp(table: TemplateTable): Stamp {
  const reachX = Math.ceil(Math.max(-table.x0, table.width + table.x0));
  const reachY = Math.ceil(Math.max(-table.y0, table.height + table.y0));
  const width = 2 * reachX + 1;
  const height = 2 * reachY + 1;
  const list: PixelList = createPixelList({ width, height });
  list.right = width - 1;
  list.bottom = height - 1;
  list.count = width * height;
  for (let k = 0; k < list.count; k++) {
    list.column[k] = k % width;
    list.row[k] = Math.floor(k / width);
  }
  for (let y = 0; y <= height; y++) list.rowStart[y] = y * width;
  const values = createTemplateValues(list.count);
  fillTemplate(values, list, table, reachX, reachY);
  const kept = Array.from(values.value.keys()).filter((k) => values.value[k] > faintShare * table.peak);
  const dx = Int32Array.from(kept, (k) => list.column[k] - reachX);
  const dy = Int32Array.from(kept, (k) => list.row[k] - reachY);
  const value = Float64Array.from(kept, (k) => values.value[k]);
  return {
    table,
    dx,
    dy,
    value,
    left: dx.reduce((a, b) => Math.min(a, b)),
    right: dx.reduce((a, b) => Math.max(a, b)),
    top: dy.reduce((a, b) => Math.min(a, b)),
    bottom: dy.reduce((a, b) => Math.max(a, b)),
    sum: value.reduce((sum, v) => sum + v, 0),
    squares: value.reduce((sum, v) => sum + v * v, 0),
  };
}

interface Sums {
  product: number;
  template: number;
  squares: number;
}

/** All pixels of the stamp are in use. */
function sumInside(
  out: Sums,
  { dx, dy, value, sum, squares }: Stamp,
  dense: Float64Array,
  width: number,
  x: number,
  y: number,
): void {
  let product = 0;
  const here = y * width + x;
  for (let k = 0; k < value.length; k++) product += value[k] * dense[here + dy[k] * width + dx[k]];
  out.product = product;
  out.template = sum;
  out.squares = squares;
}

function sumUsed(
  out: Sums,
  { dx, dy, value }: Stamp,
  dense: Float64Array,
  used: Uint8Array,
  width: number,
  height: number,
  x: number,
  y: number,
): void {
  let product = 0;
  let template = 0;
  let squares = 0;
  for (let k = 0; k < value.length; k++) {
    const i = x + dx[k];
    const j = y + dy[k];
    if (i < 0 || j < 0 || i >= width || j >= height || used[j * width + i] === 0) continue;
    const t = value[k];
    product += t * dense[j * width + i];
    template += t;
    squares += t * t;
  }
  out.product = product;
  out.template = template;
  out.squares = squares;
}

/** Offset of the vertex of a parabola through three points around the middle one, at most half a step. */
function parabolaPeak(before: number, here: number, after: number): number {
  const curvature = before - 2 * here + after;
  if (!(curvature < 0)) return 0;
  return Math.min(0.5, Math.max(-0.5, (0.5 * (before - after)) / curvature));
}
