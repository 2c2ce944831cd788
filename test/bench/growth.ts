/**
 * How the cost grows with the size of the work: time against size in short slices by turns, and the exponent
 * of the power law that fits them best. Writes results/growth.json and results/growth.svg.
 */
import { writeFileSync } from 'node:fs';
import { figureDocument, svgFileText } from '../../examples/dist/figures/figure-document.js';
import { growthChart } from './growth-chart.ts';
import { type GrowthSeries, growthSeries } from './growth-series.ts';
import { interleave } from './interleave.ts';
import type { Machine } from './machine.ts';
import { type Spread, spreadOf } from './spread.ts';

export interface GrowthResult {
  readonly name: string;
  readonly axis: string;
  readonly work: string;
  readonly sizes: readonly number[];
  /** Seconds of one unit at each size. */
  readonly seconds: readonly Spread[];
  /**
   * Cost ~ work ^ exponent, 1 where it is linear; the error is the standard error of its mean over the turns.
   */
  readonly exponent: number;
  readonly error: number;
  /** Seconds by the power law at each size. */
  readonly fitted: readonly number[];
}

/** Steeper than this is no longer linear: caches and memory may take a tenth. */
const steepest = 1.1;

const mostRepeats = 9;
const sliceS = 0.08;

/** A line a series, as printed. */
export async function measureGrowth(machine: Machine): Promise<string[]> {
  const results: GrowthResult[] = [];
  for (const series of growthSeries) {
    const result = await growthOf(series);
    results.push(result);
    console.log(growthLine(result));
  }
  const path = (name: string): URL => new URL(`results/${name}`, import.meta.url);
  writeFileSync(path('growth.json'), `${JSON.stringify({ machine, series: results }, null, 2)}\n`);
  writeFileSync(path('growth.svg'), svgFileText(growthChart(results, figureDocument())));
  return results.map(growthLine);
}

async function growthOf({ name, axis, sizes, work, workOf, sideOf }: GrowthSeries): Promise<GrowthResult> {
  const sides = sizes.map(sideOf);
  const { turns, repeats } = await interleave(sides, { sliceS, repeats: mostRepeats });
  for (const side of sides) side.close?.();
  const works = sizes.map(workOf);
  const laws = Array.from({ length: repeats }, (_, turn) =>
    powerLaw(
      works,
      turns.map((speeds) => 1 / speeds[turn]),
    ),
  );
  const exponent = mean(laws.map((law) => law.exponent));
  const scatter = mean(laws.map((law) => (law.exponent - exponent) ** 2)) * (repeats / (repeats - 1));
  const factor = Math.exp(mean(laws.map((law) => Math.log(law.factor))));
  return {
    name,
    axis,
    work,
    sizes,
    seconds: turns.map((speeds) => spreadOf(speeds.map((speed) => 1 / speed))),
    exponent,
    error: Math.sqrt(scatter / repeats),
    fitted: works.map((each) => factor * each ** exponent),
  };
}

/** cost = factor work ^ exponent, by a straight line through the logarithms. */
export function powerLaw(
  work: readonly number[],
  cost: readonly number[],
): { readonly exponent: number; readonly factor: number } {
  const u = work.map(Math.log);
  const v = cost.map(Math.log);
  const meanU = mean(u);
  const meanV = mean(v);
  const exponent =
    mean(u.map((each, i) => (each - meanU) * (v[i] - meanV))) / mean(u.map((each) => (each - meanU) ** 2));
  return { exponent, factor: Math.exp(meanV - exponent * meanU) };
}

function growthLine({ name, axis, work, sizes, exponent, error }: GrowthResult): string {
  const range = `${axis} ${sizes[0]} to ${sizes[sizes.length - 1]}`;
  const verdict = exponent - 2 * error <= steepest ? '' : ': steeper than linear';
  return `${name} (${range}): as ${work} to the ${exponent.toFixed(3)} +- ${error.toFixed(3)}${verdict}`;
}

const mean = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;
