/** The chart of a set of error lines, and its numbers in words. */
import type { EstimatorName } from '@holdfast/sim';
import { estimatorLabels, intervalOf, significant } from '@holdfast/sim/internal';
import { leastLocated } from '../../figures/curve-data.ts';
import { methodStyle } from '../../figures/estimator-mark.ts';
import { estimateText, lostText, shown } from '../../figures/number-words.ts';
import type { ErrorLines } from '../compute/error-lines.ts';
import type { LineChart } from './line-chart.ts';

export interface ErrorChartWords {
  readonly title: string;
  readonly xLabel: string;
  /** A place on the axis in words: `ring of 12 px`. */
  readonly at: (x: number) => string;
  readonly own?: EstimatorName;
  readonly isLogX?: boolean;
  readonly chosenX?: number;
  readonly level?: { readonly y: number; readonly label: string };
}

export function errorChart(errors: ErrorLines, words: ErrorChartWords): LineChart {
  const { title, xLabel, at, own, ...rest } = words;
  return {
    ...rest,
    xLabel,
    yLabel: 'noise-equivalent error, one axis, px',
    alternative: alternativeOf(errors, title, at),
    floor: errors.bound,
    lines: errors.lines.map(({ estimator, formula, trials }) => ({
      label: estimatorLabels[estimator],
      style: methodStyle(estimator),
      isOwn: estimator === own,
      curve: formula,
      isPartial: trials.length < errors.bound.length,
      dots: trials.flatMap(({ x, row: { noiseEquivalentPx, located } }) => {
        if (noiseEquivalentPx === undefined || located < leastLocated) return [];
        const { value, low, high } = intervalOf(noiseEquivalentPx);
        return [{ x, y: value, low: Math.max(low, value / 10), high }];
      }),
    })),
  };
}

/** First, middle and last place of the axis with every number there. */
function alternativeOf(
  { lines, bound, trials }: ErrorLines,
  title: string,
  at: (x: number) => string,
): string {
  const last = bound.length - 1;
  const told = [0, Math.floor(last / 2), last].map((i) => {
    const { x, y } = bound[i];
    const errors = lines.map(({ estimator, formula, trials: dots }) => {
      const row = dots.find((dot) => dot.x === x)?.row;
      if (row !== undefined)
        return `${estimatorLabels[estimator]} ${estimateText(row.noiseEquivalentPx, 'px')}, lost ${lostText(row.lostFraction)}`;
      if (formula.length === 0) return `${estimatorLabels[estimator]} to follow`;
      const value = formula[i].y;
      return `${estimatorLabels[estimator]} ${value === undefined ? 'none' : `${significant(value, 3)} px`} by formula`;
    });
    return `${at(x)}: ${errors.join('; ')}; least possible ${significant(y, 3)} px.`;
  });
  const isPartial = lines.some(({ trials: dots }) => dots.length < bound.length);
  const frames =
    trials === 0
      ? 'By formula.'
      : `${trials} simulated frames per point${isPartial ? '; not all points are there yet' : ''}.`;
  return shown(`${title}. ${told.join(' ')} ${frames}`);
}

/** The state of the simulation in words, for the caption. */
export function trialWords({ trials, isDone }: ErrorLines): string {
  if (trials === 0) return 'Lines: by formula; the simulated points follow.';
  return `Points: ${trials} simulated frames each${isDone ? '' : ', more on their way'}, left out where fewer than ${leastLocated} gave a position; bars: 95 % interval. Faint lines: by formula.`;
}
