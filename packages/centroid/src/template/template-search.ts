/** Where a template fits best among whole-pixel places: the start of every fit with a template. */

import { createPixelList, type PixelList } from '../pixels/valid-pixels.ts';
import { FastCorrelation, transformSize } from './fast-correlation.ts';
import type { TemplateModel } from './template-model.ts';
import type { TemplateTable } from './template-table.ts';
import { createTemplateValues, fillTemplate } from './template-values.ts';

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

/** How the whole-pixel places are tried: one by one, all at once by Fourier transform, or whichever is less work. */
export const templateSearches = ['auto', 'direct', 'fourier'] as const;
export type TemplateSearch = (typeof templateSearches)[number];

/** Work of all transforms of a search per value and level, in steps of the direct sum (measured: 3 to 6). */
const fourierCost = 6;

/** Pixels of the template below this share of its peak are left out of the search. */
const faintShare = 0.02;

/** Below this share of the terms, a difference is a rest of cancellation. */
const cancellation = 1e-12;

/** The pixels of a star of flux 1 that stands on a pixel's centre, from that pixel. */
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

/**
 * For lists of up to width * height pixels. The function tries every whole place within `reach` px of (centreX, centreY), or
 * all over the pixels in the list where `reach` is Infinity, with every member of the model, and fills `match`: for each the
 * flux and, with `fitBackground`, the background of least squares are known in closed form, so that the score is that of
 * the normalised cross-correlation. Between the places the score's parabola is taken.
 *
 * @returns false when the light nowhere stands out upwards
 */
export function prepareTemplateSearch(
  model: TemplateModel,
  width: number,
  height: number,
  fitBackground: boolean,
  way: TemplateSearch = 'auto',
): (
  match: TemplateMatch,
  list: PixelList,
  data: Float64Array,
  centreX: number,
  centreY: number,
  reach: number,
) => boolean {
  const stamps: (Stamp | undefined)[] = Array.from({ length: model.members });
  const dense = new Float64Array(width * height);
  const used = new Uint8Array(width * height);
  const sums = { product: 0, template: 0, squares: 0 };
  let pixels = 0;
  let total = 0;
  let whole = false;
  let box: PixelList;

  let transform: FastCorrelation | undefined;
  let transformSide = 0;

  const fit = { score: 0, flux: 0, background: 0 };
  /** Fill `fit` for a star of stamp `stamp` on the pixel (x, y). */
  const tryAt = (stamp: Stamp, x: number, y: number): number => {
    const inside =
      whole &&
      x + stamp.left >= box.left &&
      x + stamp.right <= box.right &&
      y + stamp.top >= box.top &&
      y + stamp.bottom <= box.bottom;
    if (inside) sumInside(sums, stamp, dense, width, x, y);
    else sumUsed(sums, stamp, dense, used, width, height, x, y);
    return scoreOf(stamp);
  };
  const scoreOf = (stamp: Stamp): number => {
    const share = fitBackground ? sums.template / pixels : 0;
    const product = sums.product - share * total;
    const squares = sums.squares - share * sums.template;
    fit.score =
      product > cancellation * Math.abs(sums.product) && squares > 1e-9 * stamp.squares
        ? (product * product) / squares
        : 0;
    fit.flux = product / squares;
    fit.background = fitBackground ? (total - fit.flux * sums.template) / pixels : 0;
    return fit.score;
  };

  /** Maps of all places by transform, where that is asked for or less work than going from place to place. */
  const mapsFor = (stamp: Stamp, places: number, isFirst: boolean) => {
    const side = Math.max(stamp.right - stamp.left, stamp.bottom - stamp.top) + 1;
    const size = transformSize(width, height, side);
    const work = fourierCost * size * size * Math.log2(size);
    if (way === 'direct' || (way === 'auto' && places * stamp.value.length < work)) return undefined;
    if (transform === undefined || size !== transformSide) {
      transform = new FastCorrelation(width, height, side);
      transformSide = size;
      isFirst = true;
    }
    if (isFirst) transform.load(dense, used);
    return transform.correlate(stamp);
  };

  return (match, list, data, centreX, centreY, reach) => {
    const { count, column, row } = list;
    box = list;
    const isLocal = reach < Infinity;
    const left = isLocal ? Math.max(0, Math.round(centreX - reach)) : list.left;
    const right = isLocal ? Math.min(width - 1, Math.round(centreX + reach)) : list.right;
    const top = isLocal ? Math.max(0, Math.round(centreY - reach)) : list.top;
    const bottom = isLocal ? Math.min(height - 1, Math.round(centreY + reach)) : list.bottom;
    pixels = count;
    total = 0;
    for (let k = 0; k < count; k++) total += data[k];
    whole = count === (list.right - list.left + 1) * (list.bottom - list.top + 1);
    used.fill(0);
    for (let k = 0; k < count; k++) {
      const at = row[k] * width + column[k];
      dense[at] = data[k];
      used[at] = 1;
    }
    let bestStamp: Stamp | undefined;
    match.score = 0;
    for (let member = 0; member < model.members; member++) {
      const table = model.table(member);
      let stamp = stamps[member];
      if (stamp?.table !== table) {
        stamp = makeStamp(table);
        stamps[member] = stamp;
      }
      const maps = mapsFor(stamp, (right - left + 1) * (bottom - top + 1), member === 0);
      for (let y = top; y <= bottom; y++)
        for (let x = left; x <= right; x++) {
          let score: number;
          if (maps === undefined) score = tryAt(stamp, x, y);
          else {
            const k = y * width + x;
            sums.product = maps.product[k];
            sums.template = maps.template[k];
            sums.squares = maps.squares[k];
            score = scoreOf(stamp);
          }
          if (!(score > match.score)) continue;
          bestStamp = stamp;
          match.x = x;
          match.y = y;
          match.parameter = model.parameterOf(member);
          match.flux = fit.flux;
          match.background = fit.background;
          match.score = fit.score;
        }
    }
    if (bestStamp === undefined) return false;
    const { x, y } = match;
    const score = tryAt(bestStamp, x, y);
    match.score = score;
    match.flux = fit.flux;
    match.background = fit.background;
    match.x += parabolaPeak(tryAt(bestStamp, x - 1, y), score, tryAt(bestStamp, x + 1, y));
    match.y += parabolaPeak(tryAt(bestStamp, x, y - 1), score, tryAt(bestStamp, x, y + 1));
    return true;
  };
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
