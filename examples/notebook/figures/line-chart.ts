/** Lines by formula and dots with their 95 % bars by simulation, over a log scale, with a key above. */
import * as Plot from '@observablehq/plot';
import { evenTicks, logTicks, tickText } from '../../figures/axis-ticks.ts';
import { chartKey } from '../../figures/chart-key.ts';
import { type FigureOptions, letterPx, place, sheet, svgElement } from '../../figures/figure.ts';
import { type Inks, type LineStyle, lightInks } from '../../figures/inks.ts';

export interface ChartPoint {
  readonly x: number;
  readonly y: number;
}

export interface ChartLine {
  readonly label: string;
  readonly style: LineStyle | { readonly ink: keyof Inks; readonly dash: string };
  /** Drawn heavier. */
  readonly isOwn?: boolean;
  readonly curve: readonly { readonly x: number; readonly y: number | undefined }[];
  readonly dots?: readonly (ChartPoint & { readonly low: number; readonly high: number })[];
  /** More dots are to come: no line runs through these yet. */
  readonly isPartial?: boolean;
}

export interface LineChart {
  readonly alternative: string;
  readonly xLabel: string;
  readonly yLabel: string;
  /** Whether x has equal ratios at equal distances. */
  readonly isLogX?: boolean;
  readonly lines: readonly ChartLine[];
  /** Shaded below: what cannot be reached. */
  readonly floor?: readonly ChartPoint[];
  /** A dotted level with its name. */
  readonly level?: { readonly y: number; readonly label: string };
  /** A place on the axis that a control has chosen. */
  readonly chosenX?: number;
}

export function lineChart(chart: LineChart, options: FigureOptions): SVGSVGElement {
  const { document = globalThis.document, width = 760, inks = lightInks } = options;
  const { lines, floor = [], level, xLabel, yLabel } = chart;
  const narrow = width < 560;
  const margin = { left: narrow ? 50 : 62, right: 14, top: 8, bottom: 44 };
  const key = chartKey(
    [
      ...lines.map(({ label, style, isOwn = false }) => ({ label, ...style, isOwn })),
      ...(chart.floor ? [{ label: 'least possible error', ink: 'faint', dash: 'none' } as const] : []),
      ...(level ? [{ label: level.label, ink: 'ink', dash: '1 3' } as const] : []),
    ],
    width,
    document,
    inks,
  );
  const top = key.height;
  const panelHeight = narrow ? 270 : 330;
  const ys = [
    ...lines.flatMap(({ curve, dots = [] }) => [
      ...curve.flatMap(({ y }) => y ?? []),
      ...dots.map(({ y }) => y),
    ]),
    ...floor.map(({ y }) => y),
    ...(level ? [level.y] : []),
  ];
  // A formula may run away where its estimator no longer finds the star: the axis does not follow it.
  const sane = floor.length > 0 ? 60 * Math.max(...floor.map(({ y }) => y)) : Infinity;
  const low =
    Math.max(Math.min(...ys), floor.length > 0 ? Math.min(...floor.map(({ y }) => y)) / 4 : 0) / 1.5;
  const high = Math.min(Math.max(...ys), sane) * 1.3;
  const xs = [...lines.flatMap(({ curve }) => curve.map(({ x }) => x)), ...floor.map(({ x }) => x)];
  const [from, to] = [Math.min(...xs), Math.max(...xs)];
  const xTicks = chart.isLogX ? logTicks(from, to, narrow ? 6 : 12) : evenTicks(to, narrow ? 4 : 8);
  const yTicks = logTicks(low, high, 9);
  const axis = { label: null, fontSize: letterPx, tickSize: 4 };
  const plot = Plot.plot({
    document,
    width,
    height: panelHeight,
    marginLeft: margin.left,
    marginRight: margin.right,
    marginTop: margin.top,
    marginBottom: margin.bottom,
    x: { type: chart.isLogX ? 'log' : 'linear', domain: [from, to], axis: null },
    y: { type: 'log', domain: [low, high], axis: null, clamp: true },
    marks: [
      Plot.gridY(yTicks, { stroke: inks.rule, strokeOpacity: 0.7 }),
      Plot.areaY(floor, { x: 'x', y1: low, y2: 'y', fill: inks.ink, fillOpacity: 0.07 }),
      Plot.lineY(floor, { x: 'x', y: 'y', stroke: inks.faint }),
      ...(chart.chosenX === undefined
        ? []
        : [Plot.ruleX([chart.chosenX], { stroke: inks.ink, strokeOpacity: 0.5, strokeDasharray: '2 3' })]),
      ...(level
        ? [
            Plot.ruleY([level.y], {
              stroke: inks.ink,
              strokeWidth: 1.2,
              strokeDasharray: '1 3',
              strokeLinecap: 'round' as const,
            }),
          ]
        : []),
      ...lines.flatMap((line) => marksOf(line, inks, low)),
      Plot.axisY(yTicks, { ...axis, anchor: 'left', text: tickText }),
      Plot.axisX(xTicks, { ...axis, anchor: 'bottom', text: tickText }),
      Plot.ruleX([from], { stroke: inks.ink, strokeWidth: 0.8 }),
      Plot.ruleY([low], { stroke: inks.ink, strokeWidth: 0.8 }),
    ],
  });
  const middle = margin.left + (width - margin.left - margin.right) / 2;
  const height = top + panelHeight;
  return sheet(
    options,
    { width, height, alternative: chart.alternative },
    ...key.parts,
    place(plot, 0, top, document),
    svgElement(document, 'text', { x: middle, y: height - 6, 'text-anchor': 'middle' }, xLabel),
    svgElement(
      document,
      'text',
      {
        transform: `translate(11 ${top + (panelHeight - margin.bottom) / 2}) rotate(-90)`,
        'text-anchor': 'middle',
      },
      yLabel,
    ),
  );
}

function marksOf(
  { style, isOwn, curve, dots = [], isPartial = false }: ChartLine,
  inks: Inks,
  low: number,
): Plot.Markish[] {
  const stroke = inks[style.ink];
  // Once all simulated points are there, the line runs through them, and the formula steps back.
  const isSimulated = dots.length > 0 && !isPartial;
  return [
    Plot.lineY(curve, {
      x: 'x',
      y: 'y',
      stroke,
      strokeWidth: isSimulated ? 1 : isOwn ? 2.4 : 1.4,
      strokeOpacity: isSimulated ? 0.35 : 1,
      strokeDasharray: style.dash,
    }),
    Plot.lineY(isSimulated ? dots : [], {
      x: 'x',
      y: 'y',
      stroke,
      strokeWidth: isOwn ? 2.4 : 1.4,
      strokeDasharray: style.dash,
    }),
    Plot.ruleX(dots, {
      x: 'x',
      y1: ({ low: from }: { low: number }) => Math.max(low, from),
      y2: 'high',
      stroke,
      strokeWidth: 1.3,
    }),
    ...('symbol' in style
      ? [
          Plot.dot(dots, {
            x: 'x',
            y: 'y',
            r: isOwn ? 3.6 : 3,
            symbol: style.symbol,
            stroke,
            fill: isOwn ? stroke : inks.paper,
          }),
        ]
      : []),
  ];
}
