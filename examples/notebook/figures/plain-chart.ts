/** Lines over linear axes, with a key above. */
import * as Plot from '@observablehq/plot';
import { tickText } from '../../figures/axis-ticks.ts';
import { chartKey } from '../../figures/chart-key.ts';
import { type FigureOptions, letterPx, place, sheet, svgElement } from '../../figures/figure.ts';
import { type Inks, lightInks } from '../../figures/inks.ts';
import { shown } from '../../figures/number-words.ts';

export interface PlainLine {
  readonly label: string;
  readonly ink: keyof Inks;
  readonly dash: string;
  readonly points: readonly { readonly x: number; readonly y: number }[];
  /** A place on the line, marked and named. */
  readonly mark?: { readonly x: number; readonly y: number; readonly label: string };
}

export interface PlainChart {
  readonly alternative: string;
  readonly xLabel: string;
  readonly yLabel: string;
  readonly lines: readonly PlainLine[];
  /** A dotted level with its name. */
  readonly level?: { readonly y: number; readonly label: string };
  /** Shaded spans of x. */
  readonly spans?: readonly { readonly from: number; readonly to: number }[];
  readonly height?: number;
  /** Smallest range of y that is drawn. */
  readonly leastRange?: number;
  readonly fromZero?: boolean;
}

export function plainChart(chart: PlainChart, options: FigureOptions): SVGSVGElement {
  const { document = globalThis.document, width = 760, inks = lightInks } = options;
  const { lines, level, spans = [], leastRange = 0, fromZero = false } = chart;
  const points = lines.flatMap((line) => line.points);
  const ys = [...points.map(({ y }) => y), ...(level ? [level.y] : []), ...(fromZero ? [0] : [])];
  const [lowest, highest] = [Math.min(...ys), Math.max(...ys)];
  const pad = Math.max(0.06 * (highest - lowest), (leastRange - (highest - lowest)) / 2, 1e-9);
  const [low, high] = [fromZero ? 0 : lowest - pad, highest + pad];
  const xs = points.map(({ x }) => x);
  const [from, to] = [Math.min(...xs), Math.max(...xs)];
  const left = width < 560 ? 50 : 62;
  const key = chartKey(
    [...lines, ...(level ? [{ label: level.label, ink: 'ink', dash: '1 3' } as const] : [])],
    width,
    document,
    inks,
  );
  const top = key.height;
  const panel = chart.height ?? (width < 560 ? 230 : 270);
  const axis = { label: null, fontSize: letterPx, tickSize: 4 };
  const marks = lines.flatMap(({ mark, ink }) => (mark ? [{ ...mark, ink: inks[ink] }] : []));
  const isAtEnd = marks.some(({ x }) => x > from + 0.85 * (to - from));
  const plot = Plot.plot({
    document,
    width,
    height: panel,
    marginLeft: left,
    marginRight: 14,
    marginTop: 8,
    marginBottom: 44,
    x: { domain: [from, to], axis: null },
    y: { domain: [low, high], axis: null },
    marks: [
      Plot.rect(spans, { x1: 'from', x2: 'to', y1: low, y2: high, fill: inks.ink, fillOpacity: 0.08 }),
      Plot.gridY({ ticks: 5, stroke: inks.rule, strokeOpacity: 0.7 }),
      ...(level
        ? [
            Plot.ruleY([level.y], {
              stroke: inks.ink,
              strokeDasharray: '1 3',
              strokeWidth: 1.2,
              strokeLinecap: 'round' as const,
            }),
          ]
        : []),
      ...lines.map((line) =>
        Plot.lineY(line.points, {
          x: 'x',
          y: 'y',
          stroke: inks[line.ink],
          strokeWidth: 1.8,
          strokeDasharray: line.dash,
        }),
      ),
      Plot.dot(marks, { x: 'x', y: 'y', r: 4.5, fill: (d: { ink: string }) => d.ink, stroke: inks.paper }),
      Plot.text(marks, {
        x: 'x',
        y: 'y',
        text: 'label',
        // Beside the mark: a line that falls to it or rises from it passes above or below.
        dx: isAtEnd ? -7 : 7,
        dy: -11,
        textAnchor: isAtEnd ? 'end' : 'start',
        fill: inks.ink,
        stroke: inks.paper,
        strokeWidth: 4,
      }),
      Plot.axisY({
        ...axis,
        anchor: 'left',
        ticks: 5,
        tickFormat: (value: number) => shown(tickText(value)),
      }),
      Plot.axisX({
        ...axis,
        anchor: 'bottom',
        ticks: width < 560 ? 4 : 8,
        tickFormat: (value: number) => shown(tickText(value)),
      }),
      Plot.ruleX([from], { stroke: inks.ink, strokeWidth: 0.8 }),
      Plot.ruleY([low], { stroke: inks.ink, strokeWidth: 0.8 }),
    ],
  });
  const height = top + panel;
  return sheet(
    options,
    { width, height, alternative: chart.alternative },
    ...key.parts,
    place(plot, 0, top, document),
    svgElement(
      document,
      'text',
      { x: (left + width - 14) / 2, y: height - 6, 'text-anchor': 'middle' },
      chart.xLabel,
    ),
    svgElement(
      document,
      'text',
      { transform: `translate(11 ${top + (panel - 44) / 2}) rotate(-90)`, 'text-anchor': 'middle' },
      chart.yLabel,
    ),
  );
}
