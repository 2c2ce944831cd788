/** The error of the star's position against its distance from focus, and beneath it the frames that are lost. */
import * as Plot from '@observablehq/plot';
import type { Report } from '../report.ts';
import { logTicks, rootTicks, tickText } from './axis-ticks.ts';
import { type CurveData, curveAlternative, curveData } from './curve-data.ts';
import { type FigureOptions, letterPx, place, sheet, shortName, svgElement } from './figure.ts';
import { flagRows, spreadOut } from './flags.ts';
import { type Inks, lightInks, lineStyle } from './inks.ts';
import { shown } from './number-words.ts';

interface Layout {
  readonly width: number;
  readonly narrow: boolean;
  readonly left: number;
  readonly right: number;
  readonly errorTop: number;
  readonly errorHeight: number;
  readonly lostTop: number;
  readonly lostHeight: number;
  readonly height: number;
  /** Largest focus shift on the axis, um; beyond the data there is room for the names of the lines. */
  readonly farthestUm: number;
}

const rowPx = 17;

/**
 * Two panels on one axis of focus shift. Above: rms error of each estimator with its 95 % interval, the least possible
 * error, the largest error within the budget, the focus limit, and where each filter stands. Below: the share of
 * frames without a position.
 */
export function errorCurveFigure(report: Report, options: FigureOptions = {}): SVGSVGElement {
  const { document = globalThis.document, width = 760, inks = lightInks } = options;
  const data = curveData(report);
  const narrow = width < 560;
  const left = narrow ? 52 : 62;
  const right = narrow ? 48 : 60;
  const farthestUm = data.farthestUm * (narrow ? 1.02 : 1 + 130 / (width - left - right - 130));
  const xOf = (shiftUm: number) => left + (shiftUm / farthestUm) * (width - left - right);
  const flags = flagRows(
    data.filters.map(({ name, distanceUm }) => ({
      text: shortName(name, narrow ? 16 : 22),
      x: xOf(distanceUm),
    })),
    width,
  );
  const flagRowCount = 1 + Math.max(...flags.map(({ row }) => row));
  const keyRows = narrow ? data.lines.length + 2 : 0;
  const errorTop = 10 + rowPx * (flagRowCount + keyRows) + (narrow ? 8 : 0);
  const errorHeight = narrow ? 250 : 330;
  const lostTop = errorTop + errorHeight + 22;
  const lostHeight = narrow ? 80 : 96;
  const layout: Layout = {
    width,
    narrow,
    left,
    right,
    errorTop,
    errorHeight,
    lostTop,
    lostHeight,
    height: lostTop + lostHeight + 44,
    farthestUm,
  };
  const flagsBase = errorTop - 6;
  const poles = flags.map(({ x, row, text, anchor }) =>
    svgElement(
      document,
      'g',
      {},
      svgElement(document, 'line', {
        x1: x,
        x2: x,
        y1: flagsBase - rowPx * (row + 1) + 4,
        y2: errorTop + errorHeight,
        stroke: inks.faint,
        'stroke-opacity': 0.7,
        'stroke-width': 0.6,
      }),
      halo(
        svgElement(
          document,
          'text',
          {
            x: x + (anchor === 'start' ? 4 : -4),
            y: flagsBase - rowPx * row - 4,
            'text-anchor': anchor,
            'font-style': 'italic',
          },
          text,
        ),
        inks,
      ),
    ),
  );
  return sheet(
    options,
    { width, height: layout.height, alternative: curveAlternative(report, data) },
    ...poles,
    place(errorPanel(data, layout, document, inks), 0, errorTop - 6),
    place(lostPanel(data, layout, document, inks), 0, lostTop - 6),
    axisTitle('rms error of the position, arcsec', 11, errorTop + errorHeight / 2, document),
    axisTitle('px', width - 4, errorTop + errorHeight / 2, document),
    axisTitle('lost, %', 11, lostTop + lostHeight / 2, document),
    ...(narrow ? keyOf(data, layout, document, inks) : lineNames(data, layout, document, inks)),
  );
}

function errorPanel(data: CurveData, layout: Layout, document: Document, inks: Inks): Element {
  const { width, left, right, errorHeight, farthestUm } = layout;
  const { low, high } = data.errorRange;
  const ticks = logTicks(low, high, 8);
  const pxTicks = logTicks(low / data.arcsecPerPx, high / data.arcsecPerPx, 8);
  const { limit, budgetArcsec } = data;
  return Plot.plot({
    document,
    width,
    height: errorHeight + 12,
    marginTop: 6,
    marginBottom: 6,
    marginLeft: left,
    marginRight: right,
    style: { fontFamily: 'inherit', fontSize: 'inherit', background: 'none' },
    x: { domain: [0, farthestUm], axis: null },
    y: { type: 'log', domain: [low, high], axis: null },
    marks: [
      Plot.gridY(ticks, { stroke: inks.rule, strokeOpacity: 0.7 }),
      Plot.areaY(data.bound, { x: 'x', y1: low, y2: 'y', fill: inks.ink, fillOpacity: 0.07 }),
      ...(limit
        ? [
            Plot.rect([limit], {
              x1: 'low',
              x2: 'high',
              y1: low,
              y2: high,
              fill: inks.accent,
              fillOpacity: 0.13,
            }),
            Plot.ruleX([limit.value], { stroke: inks.accent, strokeWidth: 1.2 }),
            Plot.text([limit], {
              x: 'value',
              y: low,
              text: () => shown(`focus limit ${limit.text} µm`),
              textAnchor: limit.value > 0.55 * farthestUm ? 'end' : 'start',
              dx: limit.value > 0.55 * farthestUm ? -6 : 6,
              dy: -10,
              fill: inks.accent,
              stroke: inks.paper,
              strokeWidth: 4,
            }),
          ]
        : []),
      Plot.ruleY([budgetArcsec], {
        stroke: inks.ink,
        strokeWidth: 1.2,
        strokeDasharray: '1 3',
        strokeLinecap: 'round',
      }),
      Plot.lineY(data.bound, { x: 'x', y: 'y', stroke: inks.faint, strokeWidth: 1 }),
      ...data.lines.flatMap(({ points, index, own }) => {
        const { ink, dash, symbol } = lineStyle(index);
        const stroke = inks[ink];
        return [
          Plot.lineY(points, { x: 'x', y: 'y', stroke, strokeWidth: own ? 2.4 : 1.4, strokeDasharray: dash }),
          Plot.ruleX(points, { x: 'x', y1: 'low', y2: 'high', stroke, strokeWidth: 1.2 }),
          Plot.dot(points, {
            x: 'x',
            y: 'y',
            r: own ? 3.6 : 3,
            symbol,
            stroke,
            fill: own ? stroke : inks.paper,
          }),
        ];
      }),
      Plot.axisY(ticks, {
        anchor: 'left',
        text: tickText,
        label: null,
        fontSize: letterPx,
        tickSize: 4,
      }),
      Plot.axisY(
        pxTicks.map((px) => px * data.arcsecPerPx),
        {
          anchor: 'right',
          text: (arcsec: number) => tickText(arcsec / data.arcsecPerPx),
          label: null,
          fontSize: letterPx,
          tickSize: 4,
        },
      ),
      Plot.ruleX([0, farthestUm], { stroke: inks.ink, strokeWidth: 0.8 }),
      Plot.ruleY([low], { stroke: inks.ink, strokeWidth: 0.8 }),
    ],
  });
}

function lostPanel(data: CurveData, layout: Layout, document: Document, inks: Inks): Element {
  const { width, left, right, lostHeight, farthestUm } = layout;
  const ticks = rootTicks(data.lostHigh, lostHeight, 19);
  return Plot.plot({
    document,
    width,
    height: lostHeight + 50,
    marginTop: 6,
    marginBottom: 44,
    marginLeft: left,
    marginRight: right,
    style: { fontFamily: 'inherit', fontSize: 'inherit', background: 'none' },
    x: { domain: [0, farthestUm] },
    y: { type: 'sqrt', domain: [0, data.lostHigh], axis: null },
    marks: [
      Plot.gridY(ticks, { stroke: inks.rule, strokeOpacity: 0.7 }),
      ...(data.limit
        ? [
            Plot.rect([data.limit], {
              x1: 'low',
              x2: 'high',
              y1: 0,
              y2: data.lostHigh,
              fill: inks.accent,
              fillOpacity: 0.13,
            }),
            Plot.ruleX([data.limit.value], { stroke: inks.accent, strokeWidth: 1.2 }),
          ]
        : []),
      Plot.ruleY([data.lostBudget], {
        stroke: inks.ink,
        strokeWidth: 1.2,
        strokeDasharray: '1 3',
        strokeLinecap: 'round',
      }),
      ...data.lines.flatMap(({ lost, index, own }) => {
        const { ink, dash, symbol } = lineStyle(index);
        const stroke = inks[ink];
        // Beside one another: most are 0, and would hide each other.
        const dx = 4 * (index - (data.lines.length - 1) / 2);
        return [
          Plot.lineY(lost, {
            x: 'x',
            y: 'y',
            dx,
            stroke,
            strokeWidth: own ? 2.4 : 1.4,
            strokeDasharray: dash,
          }),
          Plot.ruleX(lost, { x: 'x', y1: 'low', y2: 'high', dx, stroke, strokeWidth: 1.2 }),
          Plot.dot(lost, {
            x: 'x',
            y: 'y',
            dx,
            r: own ? 3.4 : 2.6,
            symbol,
            stroke,
            fill: own ? stroke : inks.paper,
          }),
        ];
      }),
      Plot.axisY(ticks, {
        anchor: 'left',
        tickFormat: tickText,
        label: null,
        fontSize: letterPx,
        tickSize: 4,
      }),
      Plot.axisX({
        ticks: shiftTicks(data.farthestUm, layout.narrow ? 4 : 8),
        tickFormat: tickText,
        label: 'distance of the guide sensor from best focus, µm',
        labelAnchor: 'center',
        labelArrow: 'none',
        labelOffset: 38,
        fontSize: letterPx,
        tickSize: 4,
      }),
      Plot.ruleX([0, farthestUm], { stroke: inks.ink, strokeWidth: 0.8 }),
      Plot.ruleY([0], { stroke: inks.ink, strokeWidth: 0.8 }),
    ],
  });
}

/** Each line named at its own end, as far as its end can be seen. */
function lineNames(data: CurveData, layout: Layout, document: Document, inks: Inks): Node[] {
  const { low, high } = data.errorRange;
  const yOf = (arcsec: number) =>
    layout.errorTop + layout.errorHeight * (1 - Math.log(arcsec / low) / Math.log(high / low));
  const xOf = (um: number) =>
    layout.left + (um / layout.farthestUm) * (layout.width - layout.left - layout.right);
  const ends = [
    ...data.lines.flatMap(({ label, points, index, own }) => {
      const end = points.filter((point) => point.y !== undefined).pop();
      return end ? [{ words: label, end, ink: inks[lineStyle(index).ink], own }] : [];
    }),
    { words: 'least possible error', end: data.bound[data.bound.length - 1], ink: inks.faint, own: false },
    {
      words: budgetWords(data),
      end: { x: data.farthestUm, y: data.budgetArcsec },
      ink: inks.ink,
      own: false,
    },
  ];
  const heights = spreadOut(
    ends.map(({ end }) => yOf(end.y)),
    2 * rowPx - 2,
  );
  return ends.map(({ words, end, ink, own }, i) => {
    const x = xOf(end.x) + 10;
    const [first, second] = halves(words);
    return halo(
      svgElement(
        document,
        'text',
        { x, y: heights[i] + (second ? -3 : 4), fill: ink, 'font-weight': own ? 'bold' : 'normal' },
        svgElement(document, 'tspan', { x }, first),
        ...(second ? [svgElement(document, 'tspan', { x, dy: 15 }, second)] : []),
      ),
      inks,
    );
  });
}

/** On a narrow page: what each line is, above the figure. */
function keyOf(data: CurveData, { width }: Layout, document: Document, inks: Inks): Node[] {
  const entries = [
    ...data.lines.map(({ label, index, own }) => ({ label, ...lineStyle(index), own })),
    { label: 'least possible error', ink: 'faint', dash: 'none', own: false } as const,
    { label: budgetWords(data), ink: 'ink', dash: '1 3', own: false } as const,
  ];
  const key = Plot.plot({
    document,
    width,
    height: rowPx * entries.length,
    margin: 0,
    style: { fontFamily: 'inherit', fontSize: 'inherit', background: 'none' },
    x: { domain: [0, width], axis: null },
    y: { domain: [entries.length - 0.5, -0.5], axis: null },
    marks: entries.flatMap((entry, row) => {
      const ink = inks[entry.ink];
      return [
        Plot.ruleY([row], {
          x1: 2,
          x2: 38,
          stroke: ink,
          strokeWidth: entry.own ? 2.4 : 1.4,
          strokeDasharray: entry.dash,
        }),
        ...('symbol' in entry
          ? [
              Plot.dot([row], {
                x: 20,
                y: row,
                r: 3,
                symbol: entry.symbol,
                stroke: ink,
                fill: entry.own ? ink : inks.paper,
              }),
            ]
          : []),
        Plot.text([entry.label], {
          x: 46,
          y: row,
          text: (label: string) => label,
          textAnchor: 'start',
          fill: ink,
          fontWeight: entry.own ? 'bold' : 'normal',
        }),
      ];
    }),
  });
  return [place(key, 0, 0)];
}

const budgetWords = ({ budgetText }: CurveData): string => `the budget allows ${budgetText}″`;

/** The quantity of an axis, written along it. */
function axisTitle(words: string, x: number, y: number, document: Document): Node {
  return svgElement(
    document,
    'text',
    { transform: `translate(${x} ${y}) rotate(-90)`, 'text-anchor': 'middle' },
    words,
  );
}

/** Round shifts, none beyond the data. */
function shiftTicks(farthestUm: number, about: number): number[] {
  const rough = farthestUm / about;
  const decade = 10 ** Math.floor(Math.log10(rough));
  const step = decade * ([1, 2, 5, 10].find((part) => part * decade >= rough) ?? 10);
  return Array.from({ length: 1 + Math.floor(farthestUm / step) }, (_, i) => i * step);
}

/** Two lines of a long name, broken at the space nearest to its middle. */
function halves(words: string): [string, string?] {
  if (words.length < 16) return [words];
  const spaces = [...words.matchAll(/ /g)].map(({ index }) => index);
  if (spaces.length === 0) return [words];
  const at = spaces.reduce((a, b) =>
    Math.abs(b - words.length / 2) < Math.abs(a - words.length / 2) ? b : a,
  );
  return [words.slice(0, at), words.slice(at + 1)];
}

/** Paper around the letters, so that lines do not run through them. */
function halo(text: SVGElement, inks: Inks): SVGElement {
  text.setAttribute('stroke', inks.paper);
  text.setAttribute('stroke-width', '4');
  text.setAttribute('paint-order', 'stroke');
  text.setAttribute('stroke-linejoin', 'round');
  return text;
}
