/**
 * Two stars whose light mixes, fitted together: each with the shape that the stars of the frame share. Taking
 * one off and measuring the other in turns does not get there when they are nearer than their own size.
 */
import {
  createPixelList,
  createTemplateValues,
  fillTemplate,
  type PixelList,
  sampleTemplate,
  type TemplateTable,
  type TemplateValues,
  tabulateTemplate,
} from '@holdfast/centroid/internal';
import { prepareStar } from '@holdfast/psf';
import { imageHeight, imagePixels, imageWidth } from '@holdfast/psf/internal';
import { invertSymmetric } from '@holdfast/psf/numerics';
import { binned, toBins } from '../rings/ring-binned.ts';
import type { Likeness } from './likeness.ts';
import type { StarWindow } from './star-window.ts';

/** One of the two, in electrons and px of the frame. */
export interface PairStar {
  readonly x: number;
  readonly y: number;
  readonly fluxE: number;
}

/** The brighter one first. */
export type ClosePair = readonly [PairStar, PairStar];

interface Place {
  readonly x: number;
  readonly y: number;
}

/** A second star counts from this flux over that of the first. */
const leastFluxRatio = 0.03;
/** Nearer than this share of the stars' size two stars cannot be told from an uneven one. */
const leastSeparation = 0.35;
/** One star is enough where its chi-square is no larger than this, per pixel, and so many of its errors. */
const goodChiSquare = 1.06;
const goodSigmas = 4;
const maxIterations = 12;

export interface PairOptions {
  /** Where the two stars are, px of the frame. Without it, a second one is looked for. */
  readonly known?: readonly [Place, Place];
  /** Each of the two has at least this flux over its error. Default 6. */
  readonly leastSnr?: number;
  /** A second star must explain so much of what one star leaves unexplained. Default 0.75. */
  readonly leastExplained?: number;
}

/** Width of a shape, px: outer diameter and blur of a ring, twice the FWHM of a Gaussian. */
export const sizeOf = (shape: Likeness): number =>
  shape.kind === 'annulus' ? shape.outerDiameterPx + shape.blurFwhmPx : 2 * shape.fwhmPx;

/** The same shape on pixels `bin` times as large. */
function shrunk(shape: Likeness, bin: number): Likeness {
  if (shape.kind !== 'annulus') return { ...shape, fwhmPx: shape.fwhmPx / bin };
  const { outerDiameterPx, blurFwhmPx } = shape;
  return { ...shape, outerDiameterPx: outerDiameterPx / bin, blurFwhmPx: blurFwhmPx / bin };
}

/**
 * The pair in a window: around two known places, or one light that a single star does not explain.
 *
 * @returns undefined where one star is enough, or two do not explain the light
 */
export function closePair(
  window: StarWindow,
  sky: { readonly level: number; readonly sigma: number },
  likeness: Likeness,
  { known, leastSnr = 6, leastExplained = 0.75 }: PairOptions = {},
): ClosePair | undefined {
  const bin = Math.max(1, Math.floor(sizeOf(likeness) / binsPerStar));
  const fit = new PairFit(window, sky, likeness, bin);
  if (fit.count < 30) return undefined;
  const { left, top } = window;
  const onFrame = ({ x, y, fluxE }: PairStar): PairStar => ({
    x: left + (x + 0.5) * bin - 0.5,
    y: top + (y + 0.5) * bin - 0.5,
    fluxE,
  });
  const size = sizeOf(likeness) / bin;
  if (known !== undefined) {
    const from = known.map(({ x, y }) => ({ x: toBins(x - left, bin), y: toBins(y - top, bin) }));
    const found = fit.descend(from);
    if (found === undefined || !found.stars.every((star, k) => star.fluxE > 3 * found.fluxErrors[k]))
      return undefined;
    const moved = found.stars.some(({ x, y }, k) => hypot(x - from[k].x, y - from[k].y) > size);
    return moved ? undefined : inOrder(found.stars.map(onFrame));
  }
  const { center, major, minor } = fit.moments();
  const one = fit.descend([center]);
  const freedom = fit.count - 3;
  if (one === undefined) return undefined;
  const excess = one.chiSquare - freedom;
  if (excess < Math.max((goodChiSquare - 1) * freedom, goodSigmas * Math.sqrt(2 * freedom))) return undefined;
  const spread = Math.sqrt(Math.max(0.01 * size * size, major.variance - minor));
  let best: ReturnType<PairFit['descend']>;
  const starts = [0.5, 0.3, 0.7].map((share): [Place, Place] => {
    const apart = spread / Math.sqrt(share * (1 - share));
    return [
      { x: center.x + share * apart * major.x, y: center.y + share * apart * major.y },
      { x: center.x - (1 - share) * apart * major.x, y: center.y - (1 - share) * apart * major.y },
    ];
  });
  starts.push([one.stars[0], fit.brightestRest(one.stars[0], size / 4)]);
  for (const start of starts) {
    const found = fit.descend(start);
    if (found !== undefined && (best === undefined || found.chiSquare < best.chiSquare)) best = found;
  }
  if (best === undefined) return undefined;
  const [a, b] = best.stars;
  const fluxes = [a.fluxE, b.fluxE];
  const isPair =
    Math.min(...fluxes) > leastFluxRatio * Math.max(...fluxes) &&
    fluxes.every((flux, k) => flux > leastSnr * best.fluxErrors[k]) &&
    hypot(a.x - b.x, a.y - b.y) > leastSeparation * size &&
    one.chiSquare - best.chiSquare > leastExplained * excess;
  return isPair ? inOrder(best.stars.map(onFrame)) : undefined;
}

const inOrder = ([a, b]: readonly PairStar[]): ClosePair => (a.fluxE >= b.fluxE ? [a, b] : [b, a]);

const hypot = (x: number, y: number): number => Math.sqrt(x * x + y * y);

/** Larger stars are fitted on sums over squares of pixels, at least so many to a star. */
const binsPerStar = 20;
/** Grid points of a star's table per bin. */
const perBin = 4;

/** One table for all fits of a frame: no star is drawn while fitting. */
const tables = new WeakMap<Likeness, TemplateTable>();

function tableOf(likeness: Likeness, bin: number): TemplateTable {
  const known = tables.get(likeness);
  if (known !== undefined) return known;
  const shape = shrunk(likeness, bin);
  const reach =
    shape.kind === 'annulus' ? shape.outerDiameterPx / 2 + 2 * shape.blurFwhmPx : 2.2 * shape.fwhmPx;
  const side = Math.ceil(reach) + 2;
  const table = tabulateTemplate(sampleTemplate(prepareStar(shape, { width: side, height: side }), perBin));
  tables.set(likeness, table);
  return table;
}

/** Gauss-Newton on places and fluxes of one or two stars of a known shape, by the noise of the pixels. */
class PairFit {
  readonly count: number;
  readonly #table: TemplateTable;
  readonly #list: PixelList;
  readonly #width: number;
  readonly #height: number;
  readonly #pixels: Int32Array;
  readonly #light: Float64Array;
  readonly #weight: Float64Array;

  constructor(
    { stamp, valid, x, y, radiusPx }: StarWindow,
    sky: { readonly level: number; readonly sigma: number },
    likeness: Likeness,
    bin: number,
  ) {
    const size = { width: imageWidth(stamp), height: imageHeight(stamp) };
    const { width, height, pixels, use } = binned({ ...size, pixels: imagePixels(stamp), use: valid }, bin);
    const reach2 = ((1.25 * radiusPx) / bin) ** 2;
    const [x0, y0] = [toBins(x, bin), toBins(y, bin)];
    const inside: number[] = [];
    for (let k = 0; k < use.length; k++)
      if (use[k] && ((k % width) - x0) ** 2 + (Math.floor(k / width) - y0) ** 2 <= reach2) inside.push(k);
    this.count = inside.length;
    this.#width = width;
    this.#height = height;
    this.#table = tableOf(likeness, bin);
    this.#pixels = Int32Array.from(inside);
    this.#list = listOf(inside, width, height);
    const area = bin * bin;
    this.#light = Float64Array.from(inside, (k) => pixels[k] - area * sky.level);
    const variance = area * Math.max(1, sky.sigma * sky.sigma);
    this.#weight = Float64Array.from(this.#light, (light) => 1 / (variance + Math.max(0, light)));
  }

  /** Middle of the light, its longer axis with its variance, and the variance across. */
  moments(): { center: Place; major: Place & { variance: number }; minor: number } {
    let [sum, sx, sy, xx, xy, yy] = [0, 0, 0, 0, 0, 0];
    const each = (use: (light: number, x: number, y: number) => void) => {
      for (let i = 0; i < this.count; i++) {
        const k = this.#pixels[i];
        // noise of either sign would drown the axis of a faint star
        if (this.#light[i] > 2 / Math.sqrt(this.#weight[i]))
          use(this.#light[i], k % this.#width, Math.floor(k / this.#width));
      }
    };
    each((light, x, y) => {
      sum += light;
      sx += light * x;
      sy += light * y;
    });
    const center = { x: sx / Math.max(sum, 1e-9), y: sy / Math.max(sum, 1e-9) };
    each((light, x, y) => {
      xx += (light * (x - center.x) ** 2) / sum;
      xy += (light * (x - center.x) * (y - center.y)) / sum;
      yy += (light * (y - center.y) ** 2) / sum;
    });
    const half = hypot((xx - yy) / 2, xy);
    const variance = (xx + yy) / 2 + half;
    const [u, v] =
      Math.abs(xx - variance) > Math.abs(yy - variance) ? [xy, variance - xx] : [variance - yy, xy];
    const length = hypot(u, v) || 1;
    return { center, major: { x: u / length, y: v / length, variance }, minor: variance - 2 * half };
  }

  /** Where the light that one star leaves is brightest, over a disc. */
  brightestRest({ x, y, fluxE }: PairStar, radius: number): Place {
    const star = createTemplateValues(this.count);
    fillTemplate(star, this.#list, this.#table, x, y);
    const width = this.#width;
    const height = this.#height;
    const rest = new Float64Array(width * height);
    for (let i = 0; i < this.count; i++) rest[this.#pixels[i]] = this.#light[i] - fluxE * star.value[i];
    let best = { x: 0, y: 0 };
    let most = -Infinity;
    for (let i = 0; i < this.count; i += 3) {
      const u = this.#pixels[i] % width;
      const v = Math.floor(this.#pixels[i] / width);
      let sum = 0;
      for (let b = Math.max(0, Math.ceil(v - radius)); b <= Math.min(height - 1, v + radius); b++)
        for (let a = Math.max(0, Math.ceil(u - radius)); a <= Math.min(width - 1, u + radius); a++)
          if ((a - u) ** 2 + (b - v) ** 2 <= radius * radius) sum += rest[b * width + a];
      if (sum > most) {
        most = sum;
        best = { x: u, y: v };
      }
    }
    return best;
  }

  descend(
    starts: readonly Place[],
  ): { stars: PairStar[]; fluxErrors: number[]; chiSquare: number } | undefined {
    const places = starts.map(({ x, y }) => [x, y] as [number, number]);
    let fluxes = starts.map(() => 0);
    const drawn = starts.map((): TemplateValues => createTemplateValues(this.count));
    const columns = drawn.flatMap(({ value, byX, byY }) => [value, byX, byY]);
    let last = Infinity;
    for (let round = 0; round <= maxIterations; round++) {
      for (const [k, [x, y]] of places.entries()) fillTemplate(drawn[k], this.#list, this.#table, x, y);
      fluxes = this.#fluxesFor(columns, places.length) ?? [];
      if (fluxes.length === 0) return undefined;
      const solved = this.#step(columns, fluxes);
      if (solved === undefined) return undefined;
      const { move, chiSquare, errors } = solved;
      const isSettled = Math.abs(last - chiSquare) < 1e-3;
      last = chiSquare;
      if (isSettled || round === maxIterations) {
        const stars = places.map(([x, y], s) => ({ x, y, fluxE: fluxes[s] }));
        const within = places.every(([x, y]) => x > -1 && y > -1 && x < this.#width && y < this.#height);
        return within ? { stars, fluxErrors: errors, chiSquare } : undefined;
      }
      for (const [s, place] of places.entries()) {
        const length = hypot(move[3 * s + 1], move[3 * s + 2]);
        if (!(length < Infinity)) return undefined;
        const shrink = Math.min(1, 2 / Math.max(length, 1e-9));
        place[0] += shrink * move[3 * s + 1];
        place[1] += shrink * move[3 * s + 2];
      }
    }
    return undefined;
  }

  /** The fluxes that suit these places best; never less than a thousandth of the light. */
  #fluxesFor(columns: readonly Float64Array[], stars: number): number[] | undefined {
    const a = new Float64Array(stars * stars);
    const b = new Float64Array(stars);
    for (let i = 0; i < this.count; i++)
      for (let p = 0; p < stars; p++) {
        const w = this.#weight[i] * columns[3 * p][i];
        b[p] += w * this.#light[i];
        for (let q = 0; q < stars; q++) a[p * stars + q] += w * columns[3 * q][i];
      }
    const inverse = invertSymmetric(a, stars);
    if (inverse === undefined) return undefined;
    const fluxes = Array.from(b, (_, p) =>
      b.reduce((sum, value, q) => sum + inverse[p * stars + q] * value, 0),
    );
    const least = 1e-3 * fluxes.reduce((sum, flux) => sum + Math.abs(flux), 0);
    return fluxes.map((flux) => Math.max(least, flux));
  }

  #step(
    columns: readonly Float64Array[],
    fluxes: readonly number[],
  ): { move: Float64Array; chiSquare: number; errors: number[] } | undefined {
    const n = columns.length;
    const a = new Float64Array(n * n);
    const b = new Float64Array(n);
    const slopes = new Float64Array(n);
    let chiSquare = 0;
    for (let i = 0; i < this.count; i++) {
      let rest = this.#light[i];
      for (let p = 0; p < n; p++) {
        const flux = fluxes[Math.floor(p / 3)];
        slopes[p] = p % 3 === 0 ? columns[p][i] : flux * columns[p][i];
        if (p % 3 === 0) rest -= flux * columns[p][i];
      }
      const w = this.#weight[i];
      chiSquare += w * rest * rest;
      for (let p = 0; p < n; p++) {
        b[p] += w * slopes[p] * rest;
        for (let q = 0; q <= p; q++) a[p * n + q] += w * slopes[p] * slopes[q];
      }
    }
    for (let p = 0; p < n; p++) for (let q = 0; q < p; q++) a[q * n + p] = a[p * n + q];
    const inverse = invertSymmetric(a, n);
    if (inverse === undefined) return undefined;
    // its derivative by a place rises with the place: the model moves as the star does
    const move = b.map((_, p) => b.reduce((sum, value, q) => sum + inverse[p * n + q] * value, 0));
    return { move, chiSquare, errors: fluxes.map((_, s) => Math.sqrt(inverse[3 * s * (n + 1)])) };
  }
}

/** The pixels of a fit, by their places row by row, as a table fills them. */
function listOf(inside: readonly number[], width: number, height: number): PixelList {
  const list = createPixelList({ width, height });
  list.count = inside.length;
  list.bottom = height - 1;
  for (const [i, k] of inside.entries()) {
    list.column[i] = k % width;
    list.row[i] = Math.floor(k / width);
    list.rowStart[list.row[i] + 1]++;
  }
  for (let y = 0; y < height; y++) list.rowStart[y + 1] += list.rowStart[y];
  return list;
}
