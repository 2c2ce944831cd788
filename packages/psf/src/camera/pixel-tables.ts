/**
 * What one pixel reports, as one distribution: photons, read noise and rounding to whole ADU together,
 *
 *   P(n) = sum over k of Poisson(k; mean) P(k electrons are read as n ADU above the offset),
 *
 * tabulated for a grid of means that is even in their square root, and for the mean of a frame's darkest
 * pixel. A mean between two of these is that of the lower one plus a Poisson count of the rest, which is
 * exact: Poisson counts add up.
 */
import { CondensedTables } from '../chance/condensed-tables.ts';
import { logPoisson } from '../chance/poisson.ts';
import { exp } from '../numerics/exp-log.ts';
import { gaussLegendre } from '../numerics/quadrature.ts';
import { TableMemory } from './table-memory.ts';

/**
 * Means of the grid: (j / rootSteps)^2. A finer grid leaves less of a mean to be drawn electron by electron,
 * and needs more tables than the nearest cache of a processor holds: 64 was the fastest of 32, 48, 64, 96 and
 * 128 for a ring of 3000 electrons.
 */
const rootSteps = 64;

/**
 * Steps of the square root of the mean of a frame's darkest pixel, which has a table of its own: most pixels
 * hold little but sky, and next to nothing of theirs is then left to be drawn electron by electron.
 */
const darkestSteps = 4096;

/** Values less probable than this are left out: 2^-53 of a draw's chance is 1e-16. */
const leastProbability = 1e-20;
/** Read noise beyond so many sigmas is left out: 2e-20 of it, both sides. */
const noiseReach = 9.3;

/** Largest mean that has a table. */
export const largestTabulatedMean = 1024;
/** The same where a pixel with a part of the rest is drawn anew: the rest must then be small. */
export const largestRedrawnMean = 64;

/** Counts above this are less probable than `leastProbability` (scan of 4000 means up to 1024). */
export const highestCountOf = (mean: number): number => Math.ceil(mean + 11 * Math.sqrt(mean) + 16);

/** Whether one electron is a whole number of ADU. */
export const isWholeSteps = (gainEPerAdu: number): boolean => Math.round(1 / gainEPerAdu) * gainEPerAdu === 1;

const points = gaussLegendre(12);

/** What a pixel reports. */
export interface Reading {
  /** ADU above the offset of the first probability. */
  readonly first: number;
  readonly probability: Float64Array;
}

/** Tables of the grid; those of darkest pixels follow. */
const gridTables = rootSteps * Math.sqrt(largestTabulatedMean) + 1;

export class PixelTables {
  readonly memory = new TableMemory();
  readonly distributions = new CondensedTables(gridTables, this.memory);
  /** ADU for one electron, where that is a whole number. */
  readonly stepsPerElectron: number | undefined;
  readonly #readNoiseE: number;
  readonly #gainEPerAdu: number;
  readonly #readings: (Reading | undefined)[] = [];
  readonly #counts = new Float64Array(highestCountOf(largestTabulatedMean) + 1);
  readonly #darkest = new Map<number, number>();
  readonly #darkestMeans: number[] = [];
  #values = new Float64Array(4096);

  constructor(readNoiseE: number, gainEPerAdu: number) {
    this.#readNoiseE = readNoiseE;
    this.#gainEPerAdu = gainEPerAdu;
    this.stepsPerElectron = isWholeSteps(gainEPerAdu) ? Math.round(1 / gainEPerAdu) : undefined;
  }

  /** How many darkest pixels have tables. */
  get darkestCount(): number {
    return this.#darkestMeans.length;
  }

  /** Mean of a table. */
  meanOf(table: number): number {
    return table < gridTables ? gridMean(table) : this.#darkestMeans[table - gridTables];
  }

  /**
   * Number of the table whose mean is the largest one up to `mean`, made when it is asked for the first time.
   *
   * @param darkest  table of the frame's darkest pixel
   */
  below(mean: number, darkest: number): number {
    let table = Math.floor(rootSteps * Math.sqrt(mean));
    if (gridMean(table) > mean) table--;
    if (gridMean(table) < this.meanOf(darkest)) return darkest;
    if (!this.distributions.has(table)) this.#make(table);
    return table;
  }

  /** Number of the table of a darkest pixel: its mean is up to `mean`, by little. */
  darkest(mean: number): number {
    const step = Math.floor(darkestSteps * Math.sqrt(mean) * (1 - 2 ** -50));
    let table = this.#darkest.get(step);
    if (table === undefined) {
      table = gridTables + this.#darkestMeans.length;
      this.#darkest.set(step, table);
      this.#darkestMeans.push((step / darkestSteps) * (step / darkestSteps));
      this.#make(table);
    }
    return table;
  }

  #make(table: number): void {
    const { first, probability } = this.distributionOf(this.meanOf(table));
    this.distributions.set(table, first, probability, probability.length);
  }

  /**
   * What a pixel of this mean reports: probabilities of whole ADU above the offset, from `first` on.
   * Overwritten by the next.
   *
   * @param mean  electrons, up to `largestTabulatedMean`
   */
  distributionOf(mean: number): Reading {
    const [firstCount, lastCount] = this.#fillCounts(mean);
    const first = this.#readingOf(firstCount).first;
    const last = this.#readingOf(lastCount);
    const count = last.first + last.probability.length - first;
    if (count > this.#values.length) this.#values = new Float64Array(2 * count);
    const values = this.#values;
    values.fill(0, 0, count);
    for (let k = firstCount; k <= lastCount; k++) {
      const { first: from, probability } = this.#readingOf(k);
      const p = this.#counts[k];
      for (let i = 0, at = from - first; i < probability.length; i++, at++) values[at] += p * probability[i];
    }
    return { first, probability: values.subarray(0, count) };
  }

  /** Poisson probabilities of all counts that matter; the first and the last of these. */
  #fillCounts(mean: number): [number, number] {
    const counts = this.#counts;
    if (mean === 0) {
      counts[0] = 1;
      return [0, 0];
    }
    const middle = Math.floor(mean);
    counts[middle] = exp(logPoisson(middle, mean));
    let first = middle;
    while (first > 0 && counts[first] > leastProbability) {
      counts[first - 1] = (counts[first] * first) / mean;
      first--;
    }
    let last = middle;
    while (counts[last] > leastProbability && last + 1 < counts.length) {
      counts[last + 1] = (counts[last] * mean) / (last + 1);
      last++;
    }
    return [first, last];
  }

  /** Where one electron is a whole number of ADU, the reading of k electrons is that of none, moved. */
  #readingOf(electrons: number): Reading {
    const steps = this.stepsPerElectron;
    if (steps !== undefined && electrons > 0) {
      const none = this.#readingOf(0);
      return { first: none.first + steps * electrons, probability: none.probability };
    }
    let reading = this.#readings[electrons];
    if (reading === undefined) {
      reading = readingOf(electrons / this.#gainEPerAdu, this.#readNoiseE / this.#gainEPerAdu);
      this.#readings[electrons] = reading;
    }
    return reading;
  }
}

const gridMean = (table: number): number => (table / rootSteps) * (table / rootSteps);

/** Probabilities of the whole numbers to which Normal(mean, sigma) rounds, halves up. */
function readingOf(mean: number, sigma: number): Reading {
  const first = Math.floor(mean - noiseReach * sigma + 0.5);
  const last = Math.floor(mean + noiseReach * sigma + 0.5);
  const probability = new Float64Array(last - first + 1);
  for (let n = first; n <= last; n++)
    probability[n - first] = normalShare((n - 0.5 - mean) / sigma, (n + 0.5 - mean) / sigma);
  return { first, probability };
}

/** Share of the unit normal between a and b, right to its own last digits in the tails too. */
function normalShare(a: number, b: number): number {
  const from = Math.max(a, -noiseReach);
  const to = Math.min(b, noiseReach);
  const pieces = Math.max(1, Math.ceil(to - from));
  const half = (to - from) / (2 * pieces);
  let sum = 0;
  for (let piece = 0; piece < pieces; piece++) {
    const middle = from + (2 * piece + 1) * half;
    for (let i = 0; i < points.nodes.length; i++) {
      const t = middle + half * points.nodes[i];
      sum += points.weights[i] * exp(-0.5 * t * t);
    }
  }
  return (half * sum) / Math.sqrt(2 * Math.PI);
}

/** Tables of the cameras used last; one set may take 10 MB. */
const kept = new Map<string, PixelTables>();
const mostKept = 4;
/** A set that has tables of so many darkest pixels is replaced; frames do not depend on it. */
const mostDarkest = 1024;

/** The tables of a camera, shared by all that need them. */
export function pixelTables(readNoiseE: number, gainEPerAdu: number): PixelTables {
  const key = `${readNoiseE}|${gainEPerAdu}`;
  let tables = kept.get(key);
  if (tables === undefined || tables.darkestCount > mostDarkest) {
    tables = new PixelTables(readNoiseE, gainEPerAdu);
    if (kept.size >= mostKept) kept.delete(kept.keys().next().value as string);
  } else kept.delete(key);
  kept.set(key, tables);
  return tables;
}

/** ADU that read noise may take a reading down from the offset, or up from its mean. */
export const noiseReachAdu = (readNoiseE: number, gainEPerAdu: number): number =>
  noiseReach * (readNoiseE / gainEPerAdu) + 1;
