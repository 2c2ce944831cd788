/** How much the stars of the picture grow by the guide star's error, filter by filter, against the budget. */
import type { FilterAdvice, ImageGrowth } from '@holdfast/sim';
import { intervalOf } from '@holdfast/sim/internal';
import * as Plot from '@observablehq/plot';
import type { Report } from '../reports/report.ts';
import { rootTicks, tickText } from './axis-ticks.ts';
import { type FigureOptions, letterPx, place, sheet, shortName, svgElement, textWidth } from './figure.ts';
import { lightInks } from './inks.ts';
import { decisionText, shiftText, shown } from './number-words.ts';
import { outcomeWord } from './outcome-word.ts';

interface Mark {
  readonly row: number;
  readonly value: number;
  readonly low: number;
  readonly high: number;
}

const rowPx = 26;

/** One line a filter: growth with its 95 % interval, and hollow where the advised change would bring it. */
export function growthFigure(
  { rig, advice }: Pick<Report, 'rig'> & { readonly advice: Pick<Report['advice'], 'filters'> },
  options: FigureOptions = {},
): SVGSVGElement {
  const { document = globalThis.document, width = 760, inks = lightInks } = options;
  const narrow = width < 560;
  const budget = rig.budget.fwhmGrowthPercent;
  const names = advice.filters.map(({ filter }) => shortName(filter, narrow ? 13 : 22));
  const left = 14 + Math.max(40, ...names.map((name) => textWidth(name)));
  const right = 78;
  const as = advice.filters.flatMap(({ assessment }, row) => marksOf(row, assessment.growth));
  const trimmed = advice.filters.flatMap(({ trim }, row) => marksOf(row, trim?.assessment.growth));
  const high =
    1.08 * Math.max(1.25 * budget, ...as.map((mark) => mark.high), ...trimmed.map((mark) => mark.high));
  const panelHeight = rowPx * names.length;
  const panelWidth = width - left - right;
  const ticks = rootTicks(high, panelWidth, 34);
  const y = (mark: Mark) => mark.row;
  const plot = Plot.plot({
    document,
    width,
    height: panelHeight + 70,
    marginTop: 26,
    marginBottom: 44,
    marginLeft: left,
    marginRight: right,
    x: { type: 'sqrt', domain: [0, high] },
    y: { domain: [-0.5, names.length - 0.5], reverse: true, axis: null },
    marks: [
      Plot.ruleY(
        names.map((_, row) => row),
        { stroke: inks.rule, strokeDasharray: '1 3', x1: 0, x2: high },
      ),
      Plot.gridX(ticks, { stroke: inks.rule, strokeOpacity: 0.7 }),
      Plot.ruleX([budget], {
        stroke: inks.ink,
        strokeWidth: 1.2,
        strokeDasharray: '1 3',
        strokeLinecap: 'round',
      }),
      Plot.text([budget], {
        x: (d: number) => d,
        frameAnchor: 'top',
        dy: -15,
        text: () => shown(`budget ${tickText(budget)} %`),
        fill: inks.ink,
      }),
      Plot.link(
        trimmed.flatMap((to) => as.filter(({ row }) => row === to.row).map((from) => ({ from, to }))),
        {
          x1: ({ from }: { from: Mark }) => from.value,
          x2: ({ to }: { to: Mark }) => to.value,
          y1: ({ from }: { from: Mark }) => from.row,
          y2: ({ to }: { to: Mark }) => to.row,
          stroke: inks.faint,
          strokeDasharray: '2 3',
        },
      ),
      Plot.ruleY(as, { y, x1: 'low', x2: 'high', stroke: inks.accent, strokeWidth: 2 }),
      Plot.dot(as, { x: 'value', y, r: 4.2, fill: inks.accent }),
      Plot.ruleY(trimmed, { y, x1: 'low', x2: 'high', stroke: inks.accent, strokeWidth: 2 }),
      Plot.dot(trimmed, { x: 'value', y, r: 4, fill: inks.paper, stroke: inks.accent, strokeWidth: 1.6 }),
      Plot.axisX(ticks, {
        tickFormat: tickText,
        label: narrow ? 'growth of the FWHM, %' : 'growth of the FWHM of stars in the picture, %',
        labelAnchor: 'center',
        labelArrow: 'none',
        labelOffset: 38,
        fontSize: letterPx,
        tickSize: 4,
      }),
      Plot.ruleX([0], { stroke: inks.ink, strokeWidth: 0.8 }),
    ],
  });
  const heightOf = (row: number) => 26 + rowPx * (row + 0.5) + 4.5;
  const words = advice.filters.flatMap((filter, row) => [
    svgElement(document, 'text', { x: left - 12, y: heightOf(row), 'text-anchor': 'end' }, names[row]),
    svgElement(
      document,
      'text',
      { x: width - right + 14, y: heightOf(row), ...outcomeLetters(filter.outcome) },
      outcomeWord(filter),
    ),
    ...(filter.assessment.growth
      ? []
      : [
          svgElement(
            document,
            'text',
            { x: left + 8, y: heightOf(row), 'font-style': 'italic' },
            'no position',
          ),
        ]),
  ]);
  return sheet(
    options,
    { width, height: panelHeight + 70, alternative: alternativeOf(rig.name, advice.filters, budget) },
    place(plot, 0, 0, document),
    ...words,
  );
}

/** Outcomes are discriminated by the weight of their letters, never by color. */
function outcomeLetters(outcome: FilterAdvice['outcome']): Record<string, string> {
  if (outcome === 'refocus') return { 'font-weight': 'bold' };
  return outcome === 'trim' ? { 'font-style': 'italic' } : {};
}

function marksOf(row: number, growth: ImageGrowth | undefined): Mark[] {
  if (growth === undefined) return [];
  const { value, low, high } = intervalOf(growth.growthPercent);
  return [{ row, value, low: Math.max(0, low), high }];
}

function alternativeOf(rigName: string, filters: readonly FilterAdvice[], budget: number): string {
  const percent = (growth: ImageGrowth | undefined) =>
    growth === undefined ? 'none' : shown(`${decisionText(growth.growthPercent, budget)} %`);
  const told = filters.map((advice) => {
    const { filter, focusShiftUm, assessment, trim } = advice;
    const after = trim ? ` (${trim.change}: ${percent(trim.assessment.growth)})` : '';
    return `${filter}, ${shiftText(focusShiftUm)}: ${percent(assessment.growth)}, ${outcomeWord(advice)}${after}`;
  });
  return `Growth of the FWHM of stars in the picture for ${rigName}; the budget allows ${shown(tickText(budget))} %. ${told.join('; ')}.`;
}
